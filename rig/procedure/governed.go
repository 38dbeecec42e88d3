package procedure

import (
	"fmt"
	"time"

	"govrig/rig"
	"govrig/rig/measure"
	"govrig/sim/machine"
	"govrig/sim/machine/unit"
)

// Names of phases.
const (
	phaseIdle   = "idle"
	phaseSpool  = "spool-up"
	phaseSteady = "steady"
	phaseOn     = "load on"
	phaseOff    = "load off"
)

const (
	idleTime   = 1.0  // s
	spoolLimit = 60.0 // s
	settleTime = 2.0  // s
	settleBand = 0.01 // share, either way
	// settleAbove is the least share of the wanted speed at which a steady
	// engine counts as governed, and not as idling.
	settleAbove = 0.7
	// governedStick is where the stick stands while the governor governs, as a
	// share of its travel: well above any arming threshold, below the end.
	governedStick = 0.6
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
		return setting, fmt.Errorf("procedure: %s has no speed setting %q; it has %q", m.File, name, known)
	}
	return setting, nil
}

// only is the setting of a run with one; the zero setting of one with several.
func only(settings []machine.SpeedSetting) machine.SpeedSetting {
	if len(settings) > 1 {
		return machine.SpeedSetting{}
	}
	return settings[0]
}

// governed is a governor holding a speed setting of a machine.
type governed struct {
	m       *machine.Machine
	setting machine.SpeedSetting
	suffix  string    // of measures, where there are several settings
	last    rig.Phase // the orders that stand
}

func newGoverned(m *machine.Machine, setting machine.SpeedSetting) *governed {
	g := &governed{m: m, setting: setting}
	g.last = rig.Phase{
		Stick: g.stick(0), Select: g.selected(),
		Collective: float64(m.LoadStep.CollectiveLow),
	}
	return g
}

// to orders a setting, one of several.
func (g *governed) to(setting machine.SpeedSetting, several bool) {
	g.setting, g.suffix = setting, ""
	if several {
		g.suffix = "_" + setting.Name
	}
	g.last.Select = g.selected()
}

// name is what a phase is called at this setting.
func (g *governed) name(phase string) string {
	if g.suffix == "" {
		return phase
	}
	return phase + ", " + g.setting.Name
}

// suffixed makes the declarations those of one setting of several.
func suffixed(declared []measure.Declaration, setting machine.SpeedSetting, several bool) []measure.Declaration {
	for i := range declared {
		if several {
			declared[i].Name += "_" + setting.Name
		}
	}
	return declared
}

// engine is the wanted engine speed, rad/s.
func (g *governed) engine() float64 { return float64(g.setting.HeadSpeed) * g.m.Ratio() }

// declared is the same in rpm: what percentages divide by.
func (g *governed) declared() float64 { return g.engine() * rpm }

// stick is the width of the stick pulse at a share of its travel.
func (g *governed) stick(share float64) time.Duration {
	low, high := float64(g.m.Servo.ClosedPulse), float64(g.m.Servo.OpenPulse)
	return seconds(low + share*(high-low))
}

// selected is the select width for the setting, by the governor's paper.
func (g *governed) selected() time.Duration { return seconds(selectWidth(&g.m.Governor, g.engine())) }

// phase is a phase of some seconds under the orders that stand.
func (g *governed) phase(name string, time float64) rig.Phase {
	g.last.Name, g.last.Steps, g.last.Ramp = name, steps(time), 0
	return g.last
}

// load is a phase in which the collective moves first.
func (g *governed) load(name string, collective, ramp, time float64) rig.Phase {
	g.last.Collective = collective
	p := g.phase(name, time)
	p.Ramp = steps(ramp)
	return p
}

// settled is a phase that lasts until the governor holds.
func (g *governed) settled(name string, limit, hold float64) rig.Phase {
	p := g.phase(name, limit)
	p.Settle = &rig.Settle{Above: settleAbove * g.engine(), Band: settleBand, For: steps(hold)}
	return p
}

// takeUp begins a loop around the machine: idle, then stick up until the
// governor holds. held is false when it does not.
func (g *governed) takeUp(t *test) (part Trace, held bool, err error) {
	t.helicopter()
	idle := g.phase(phaseIdle, idleTime)
	g.last.Stick = g.stick(governedStick)
	return t.play(idle, g.settled(phaseSpool, spoolLimit, settleTime))
}

const whyUnsteady = "the engine did not become steady within a minute of the stick going up"

// spoolUp is takeUp for a procedure that needs a governor that holds: when it
// does not, the declared measures are noted as not run.
func (g *governed) spoolUp(t *test, declared []measure.Declaration) (ok bool, err error) {
	part, held, err := g.takeUp(t)
	if err != nil || held {
		return err == nil, err
	}
	notRun(t, declared, whyUnsteady)
	g.explain(t, g.unheld(&part))
	return false, nil
}

// letGo notes that the governor did not hold the present setting after the one
// before, and leaves out what is still to be measured.
func (g *governed) letGo(t *test, declared []measure.Declaration) {
	why := fmt.Sprintf("the engine did not become steady at %q", g.setting.Name)
	notRun(t, declared, why)
	t.found("%s: the engine did not become steady within a minute.", g.setting.Name)
	t.next("Run this procedure with --speed %s alone, and pickup and accept up to that speed.", g.setting.Name)
}

func notRun(t *test, declared []measure.Declaration, why string) {
	for _, d := range declared {
		t.sheet.NotRun(d.Name, why)
	}
}

// take puts a reading of this setting on the sheet.
func (g *governed) take(t *test, name string, r measure.Reading) { t.sheet.Take(name+g.suffix, r) }

// selectWidth is the select pulse width that asks the governor for an engine
// speed, rad/s, by the straight line between the two ends that its paper
// gives. Speeds beyond an end get that end.
func selectWidth(g *machine.Governor, speed float64) float64 {
	share := (speed - float64(g.SpeedLow)) / float64(g.SpeedHigh-g.SpeedLow)
	share = max(0, min(1, share))
	return float64(g.SelectLow) + share*float64(g.SelectHigh-g.SelectLow)
}

// percent is an optional limit of the machine file, in %.
func percent(share *unit.Share) *measure.Limit {
	if share == nil {
		return nil
	}
	return measure.AtMost(100 * float64(*share))
}
