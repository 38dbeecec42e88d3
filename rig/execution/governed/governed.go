// Package governed is a governor that holds a simulated machine: how it is brought
// there, what it is told, and what is read of it.
package governed

import (
	"fmt"
	"time"

	"govrig/rig"
	"govrig/rig/execution"
	"govrig/rig/finding"
	"govrig/rig/measure"
	"govrig/rig/phase"
	"govrig/sim/heli"
	"govrig/sim/machine"
	"govrig/sim/unit"
)

const (
	IdleTime   = 1.0  // s
	SpoolLimit = 60.0 // s
	SettleTime = 2.0  // s
	settleBand = 0.01 // share, either way
	// SettleAbove is the least share of the wanted speed at which a steady
	// engine counts as governed, and not as idling.
	SettleAbove = 0.7
	// GovernedStick is where the stick stands while the governor governs, as a
	// share of its travel: well above any arming threshold, below the end.
	GovernedStick = 0.6
)

// choose finds the named speed setting, or the first.
func choose(m *machine.Machine, name string) (machine.SpeedSetting, error) {
	if name == "" {
		return m.Speeds[0], nil
	}
	setting, ok := m.Speed(name)
	if !ok {
		var known []string
		for _, s := range m.Speeds {
			known = append(known, s.Name)
		}
		return setting, fmt.Errorf("%s has no speed setting %q; it has %q", m.File, name, known)
	}
	return setting, nil
}

// Only is the setting of a run with one; the zero setting of one with several.
func Only(settings []machine.SpeedSetting) machine.SpeedSetting {
	if len(settings) > 1 {
		return machine.SpeedSetting{}
	}
	return settings[0]
}

// Governor is a governor that holds a speed setting of a machine.
type Governor struct {
	Machine *machine.Machine
	Setting machine.SpeedSetting
	suffix  string    // of measures, where there are several settings
	Orders  rig.Phase // the orders that stand
	// Up is where the stick stands while it governs, a share of its travel.
	Up       float64
	firstWay int // of ways, that is tried
	// Engagement is whether it was seen to govern, as last looked at.
	Engagement finding.Engagement
	// Turns has the person turn a setting in the governor that does not give the
	// wanted speed, while it is looked for.
	Turns bool
	// DeadBand is a change of the speed, a share, that it was seen not to answer
	// while it answered a larger one; 0 is none seen.
	DeadBand float64
}

// New is a governor that has been told nothing yet.
func New(m *machine.Machine, setting machine.SpeedSetting) *Governor {
	g := &Governor{Machine: m, Setting: setting, Up: GovernedStick}
	g.Orders = rig.Phase{
		Stick: g.Stick(0), Select: g.selected(),
		Collective: float64(m.LoadStep.CollectiveLow),
	}
	return g
}

// To orders a setting, one of several.
func (g *Governor) To(setting machine.SpeedSetting, several bool) {
	g.Setting, g.suffix = setting, ""
	if several {
		g.suffix = "_" + setting.Name
	}
	g.Orders.Select = g.selected()
}

// Key is that of a phase of a kind at this setting.
func (g *Governor) Key(kind phase.Kind) phase.Key {
	key := phase.Key{Kind: kind}
	if g.suffix != "" {
		key.Setting = g.Setting.Name
	}
	return key
}

// Suffixed makes the declarations those of one setting of several.
func Suffixed(declared []measure.Declaration, setting machine.SpeedSetting, several bool) []measure.Declaration {
	for i := range declared {
		if declared[i].Key.What == "" {
			declared[i].Key.What = declared[i].Name
		}
		declared[i].Key.Setting = setting.Name
		if several {
			declared[i].Name += "_" + setting.Name
		}
	}
	return declared
}

// Engine is the wanted engine speed, rad/s.
func (g *Governor) Engine() float64 { return float64(g.Setting.HeadSpeed) * g.Machine.Ratio() }

// Declared is the same in rpm: what percentages divide by.
func (g *Governor) Declared() float64 { return g.Engine() * execution.RPM }

// Stick is the width of the stick pulse at a share of its travel.
func (g *Governor) Stick(share float64) time.Duration {
	low, high := float64(g.Machine.Servo.ClosedPulse), float64(g.Machine.Servo.OpenPulse)
	return execution.Seconds(low + share*(high-low))
}

// selected is the select width for the setting, by the machine file; 0 is no pulse.
func (g *Governor) selected() time.Duration {
	width, _ := g.Machine.SettingPulse(g.Setting)
	return execution.Seconds(width)
}

// Phase is a phase of some seconds under the orders that stand.
func (g *Governor) Phase(key phase.Key, time float64) rig.Phase {
	g.Orders.Key, g.Orders.Steps, g.Orders.Ramp = key, execution.Steps(time), 0
	return g.Orders
}

// Load is a phase in which the collective moves first.
func (g *Governor) Load(key phase.Key, collective, ramp, time float64) rig.Phase {
	g.Orders.Collective = collective
	p := g.Phase(key, time)
	p.Ramp = execution.Steps(ramp)
	return p
}

// Settled is a phase that lasts until the governor holds.
func (g *Governor) Settled(key phase.Key, limit, hold float64) rig.Phase {
	p := g.Phase(key, limit)
	p.Settle = &rig.Settle{Above: SettleAbove * g.Engine(), Band: settleBand, For: execution.Steps(hold)}
	return p
}

// WhyUnsteady is why nothing could be measured.
const WhyUnsteady = "the engine did not become steady within a minute of the stick going up"

// SpoolUp is takeUp for a procedure that needs a governor that holds: when it
// does not, the declared measures are noted as not run.
func (g *Governor) SpoolUp(t *execution.Test, declared []measure.Declaration) (ok bool, err error) {
	part, held, err := g.TakeUp(t)
	if err != nil {
		return false, err
	}
	g.TakeEngaged(t)
	if !held {
		return false, g.NotHeld(t, &part, declared)
	}
	return true, nil
}

// NotHeld notes that nothing of what was declared could be measured, because the
// governor does not hold the wanted speed, and says why.
func (g *Governor) NotHeld(t *execution.Test, part *execution.Trace, declared []measure.Declaration) error {
	NotRun(t, declared, g.WhyNot())
	return g.ExplainWhole(t, g.Unheld(part))
}

// WhyNot is why nothing of a governor that does not hold can be measured.
func (g *Governor) WhyNot() string {
	if g.Engagement.Verdict == finding.No {
		return "the governor has not engaged"
	}
	return WhyUnsteady
}

// CanHold reports whether full throttle holds the wanted speed under a collective,
// rad, by the machine file.
func (g *Governor) CanHold(collective float64) bool {
	plant := heli.New(g.Machine.HeliParams(), execution.StepTime)
	_, _, err := plant.Trim(float64(g.Setting.HeadSpeed), collective)
	return err == nil
}

// Travel is a throttle pulse, µs, as a share of the way from closed to open.
func (g *Governor) Travel(pulse float64) float64 {
	closed, open := float64(g.Machine.Servo.ClosedPulse), float64(g.Machine.Servo.OpenPulse)
	return (pulse*1e-6 - closed) / (open - closed)
}

// NotRun notes that declared measures were not taken, and why. Whether the governor
// has engaged is told apart from them.
func NotRun(t *execution.Test, declared []measure.Declaration, why string) {
	for _, d := range declared {
		if d.Name != engaged {
			t.Sheet.NotRun(d.Name, why)
		}
	}
}

// Take puts a reading of this setting on the sheet.
func (g *Governor) Take(t *execution.Test, name string, r measure.Reading) {
	t.Sheet.Take(name+g.suffix, r)
}

// percent is an optional limit of the machine file, in %.
func percent(share *unit.Share) *measure.Limit {
	if share == nil {
		return nil
	}
	return measure.AtMost(100 * float64(*share))
}

// Spacing is the time from pulse to pulse at the wanted speed, s.
func (g *Governor) Spacing() float64 {
	return g.Machine.Governor.PulseSpacing(g.Engine())
}

// chooseSeveral gives the named speed setting, or every one for AllSpeeds.
func chooseSeveral(m *machine.Machine, name string) ([]machine.SpeedSetting, error) {
	if name == execution.AllSpeeds {
		return m.Speeds, nil
	}
	setting, err := choose(m, name)
	return []machine.SpeedSetting{setting}, err
}
