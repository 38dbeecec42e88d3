package accept

import (
	"fmt"
	"math"

	"govrig/rig/execution"
	"govrig/rig/execution/openloop"
	"govrig/rig/finding"
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
	up     float64        // stick at which it is watched
	silent openloop.Range // what the throttle does without pulses
	wait   float64        // how long a governor is given to show that it hears, s
	usable kind           // a kind of pulse that it hears
	counts float64        // for each pulse; 0 is not known
	works  finding.Verdict
	tried  []combination
}

// kind is a kind of pulse. A width of 0 is the machine's own.
type kind struct {
	low   bool
	width float64 // s
}

// combination is a kind of pulse that was played at a speed.
type combination struct {
	kind
	own   bool    // as the machine's pickup makes it
	turn  float64 // rad/s
	heard bool
}

const usualActive = 0.1 // of the spacing, where the machine's own is not known

func newAcceptTest(m *machine.Machine, setting machine.SpeedSetting) *acceptTest {
	a := &acceptTest{m: m, setting: setting, low: m.Pickup.Active == machine.Low}
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

// playable reports whether the board can play pulses of an engine speed.
func (a *acceptTest) playable(turn float64) bool {
	id := &a.t.Session.Identity
	return a.spacing(turn) > float64(id.MinPeriodTicks)/float64(id.TickHz)
}

// trueWidth is the width of the machine's own pulse at an engine speed, s.
func (a *acceptTest) trueWidth(turn float64) float64 { return a.active * 2 * math.Pi / turn }

// ownWidth is the same as far as the board can play it.
func (a *acceptTest) ownWidth(turn float64) float64 {
	return max(narrowest, min(widest, widestActive*a.spacing(turn), a.trueWidth(turn)))
}

// widthOf is the width of a kind of pulse at an engine speed, s.
func (a *acceptTest) widthOf(k kind, turn float64) float64 {
	if k.width == 0 {
		return a.ownWidth(turn)
	}
	return k.width
}

// play goes through the phases.
func (a *acceptTest) play() error {
	if top := overSpeed * a.top(); !a.playable(top) {
		a.nothing(fmt.Sprintf("the board cannot play the pulses of %.0f rpm", top*execution.RPM))
		return nil
	}
	a.sayNarrow()
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

// nothing notes that no measure was taken, and why.
func (a *acceptTest) nothing(why string) {
	for _, d := range a.measures() {
		a.t.Sheet.NotRun(d.Name, why)
	}
}

// sayNarrow says where the machine's own pulses are shorter than the board's.
func (a *acceptTest) sayNarrow() {
	if top := a.top(); a.trueWidth(top) < narrowest {
		a.t.Found("At %.0f rpm this machine's pickup makes pulses of %.0f µs; the board plays none below %.0f µs. Whether the governor hears shorter ones cannot be told here.",
			top*execution.RPM, 1e6*a.trueWidth(top), 1e6*narrowest)
	}
}

func (a *acceptTest) bottom() float64 { return float64(a.m.Governor.SpeedLow) }
func (a *acceptTest) top() float64    { return float64(a.m.Governor.SpeedHigh) }

// begin finds a stick and a kind of pulse at which the governor shows that it
// hears, and how long it takes. alive is false when there is nothing to go on with.
func (a *acceptTest) begin() (alive bool, err error) {
	if err := a.setUp(kind{low: a.low}, a.below(a.bottom()), a.top()); err != nil {
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
	return a.engage()
}

// setUp sets polarity and width of the pulses for an engine speed, and the speed
// setting asked for.
func (a *acceptTest) setUp(k kind, turn, setting float64) error {
	settings := a.t.Bench.Settings(execution.Plan{})
	settings.PickupLow, settings.PickupWidth = k.low, execution.Seconds(a.widthOf(k, turn))
	if err := a.t.Configure(settings); err != nil {
		return err
	}
	if a.stand == nil {
		a.stand = openloop.New(a.t, setting)
	} else {
		a.stand = a.stand.Again(setting)
	}
	return nil
}
