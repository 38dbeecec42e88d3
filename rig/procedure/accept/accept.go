package accept

import (
	"fmt"
	"math"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/execution/openloop"
	"govrig/rig/measure/pulse"
	"govrig/sim/machine"
	"govrig/sim/pickup"
)

// acceptTest is what Accept found so far.
type acceptTest struct {
	t       *execution.Test
	m       *machine.Machine
	setting machine.SpeedSetting
	low     bool    // the machine's own polarity
	active  float64 // share of a turn that one of its pulses takes

	stand  *openloop.Stand
	silent openloop.Range // what the throttle does without pulses
	wait   float64        // how long a governor is given to show that it hears, s
	counts float64        // for each pulse; 0 is not known
	tried  []combination
}

// combination is a kind of pulse that was played.
type combination struct {
	low   bool
	width float64 // s
	own   bool    // as the machine's pickup makes it
	turn  float64 // rad/s
	heard bool
}

const usualActive = 0.1 // of the spacing, where the machine's own is not known

func newAcceptTest(m *machine.Machine, setting machine.SpeedSetting) *acceptTest {
	a := &acceptTest{m: m, setting: setting, low: m.Pickup.Active == machine.Low, counts: 1}
	a.active = usualActive / float64(m.Governor.PulsesPerTurn)
	if p, err := pickup.Predict(m.PickupParams()); err == nil && p.PulsesPerRev > 0 && !p.Stuck {
		a.active = p.Width
	}
	return a
}

// Limits of the width of a pulse, s, and of the share of its spacing, that are
// played. The widths are the board's own limits.
const (
	narrowest    = 100e-6
	widest       = 4e-3
	widestShare  = 0.4
	widestActive = 0.6 // of the machine's own
)

// spacing is the time from pulse to pulse, s, at an engine speed, rad/s.
func (a *acceptTest) spacing(turn float64) float64 {
	return a.m.Governor.PulseSpacing(turn)
}

// playable tells whether the board can play pulses of an engine speed.
func (a *acceptTest) playable(turn float64) bool {
	id := &a.t.Session.Identity
	return a.spacing(turn) > float64(id.MinPeriodTicks)/float64(id.TickHz)
}

// ownWidth is the width of the machine's own pulse at an engine speed.
func (a *acceptTest) ownWidth(turn float64) float64 {
	width := a.active * 2 * math.Pi / turn
	return max(narrowest, min(widest, widestActive*a.spacing(turn), width))
}

// play goes through the phases.
func (a *acceptTest) play() error {
	if top := overSpeed * float64(a.m.Governor.SpeedHigh); !a.playable(top) {
		why := fmt.Sprintf("the board cannot play the pulses of %.0f rpm", top*execution.RPM)
		for _, d := range a.measures() {
			a.t.Sheet.NotRun(d.Name, why)
		}
		return nil
	}
	alive, err := a.begin()
	if err != nil || !alive {
		return err
	}
	for _, step := range []func() error{a.count, a.combine, a.lowest, a.highest, a.ride} {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

// begin finds what the throttle does without pulses, and how long the governor
// takes to show that it hears. alive is false when the throttle line is dead.
func (a *acceptTest) begin() (alive bool, err error) {
	turn := 0.9 * float64(a.m.Governor.SpeedLow)
	if err := a.setUp(a.low, a.ownWidth(turn), float64(a.m.Governor.SpeedHigh)); err != nil {
		return false, err
	}
	a.stand.Kind = "no pulses"
	part, _, err := a.t.Play(a.stand.Phase(0, 0, 1))
	if err != nil {
		return false, err
	}
	rate := pulse.FramesOf(openloop.Starts(part.Pulses)).Rate
	if !rate.OK() {
		openloop.Dead(a.t, a.measures())
		return false, nil
	}
	a.stand.Frame = 1 / rate.Value
	if a.silent, err = a.stand.Silence(1); err != nil {
		return false, err
	}
	a.stand.Kind, a.wait = "first pulses", 4
	seen, took, err := a.hears(turn)
	a.wait = 1.5
	if seen {
		a.wait = min(4, max(0.6, 3*took+0.2))
	}
	return true, err
}

// setUp sets polarity and width of the pulses, and the speed setting asked for.
func (a *acceptTest) setUp(low bool, width, setting float64) error {
	settings := a.t.Bench.Settings(execution.Plan{})
	settings.PickupLow, settings.PickupWidth = low, execution.Seconds(width)
	if err := a.t.Configure(settings); err != nil {
		return err
	}
	before := a.stand
	a.stand = openloop.New(a.t, setting)
	if before != nil {
		a.stand.Frame, a.stand.Kind = before.Frame, before.Kind
	}
	return nil
}

// hears tells whether the throttle does something that it does not do without
// pulses, with the stick up and the pickup at a speed.
func (a *acceptTest) hears(turn float64) (heard bool, took float64, err error) {
	if err := a.stand.Reset(turn); err != nil {
		return false, 0, err
	}
	return a.stand.Watch(governed.GovernedStick, turn, a.wait, func(share float64) bool { return a.silent.Outside(share, openloop.Clearly) })
}

// opens tells whether the throttle opens farther than without pulses: the
// governor finds the engine too slow.
func (a *acceptTest) opens(turn, setting float64) (bool, error) {
	if err := a.setUp(a.low, a.ownWidth(turn), setting); err != nil {
		return false, err
	}
	if err := a.stand.Reset(turn); err != nil {
		return false, err
	}
	open, _, err := a.stand.Watch(governed.GovernedStick, turn, a.wait, func(share float64) bool { return share > a.silent.High+openloop.Clearly })
	return open, err
}
