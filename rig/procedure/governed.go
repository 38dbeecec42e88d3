package procedure

import (
	"context"
	"fmt"
	"time"

	"govrig/rig"
	"govrig/rig/measure"
	"govrig/rig/measure/step"
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
	// governedStick is where the stick stands while the governor governs, as a
	// share of its travel: well above any arming threshold, below the end.
	governedStick = 0.6
)

// HoldOptions are those of Hold.
type HoldOptions struct {
	Speed string  // name of the speed setting; empty is the first
	Time  float64 // how long to hold, s
}

// Hold runs the engine up to a speed setting and holds it there under the low
// collective of the machine's load step.
func Hold(ctx context.Context, b *Bench, o HoldOptions) (*Run, error) {
	setting, err := choose(b.Machine, o.Speed)
	if err != nil {
		return nil, err
	}
	declared := steadyMeasures(setting)
	return b.run(ctx, plan{name: "hold", options: o, setting: setting, declared: declared, body: func(t *test) error {
		g := newGoverned(b.Machine, setting)
		if ok, err := g.spoolUp(t, declared); !ok {
			return err
		}
		steady, _, err := t.play(g.phase(phaseSteady, o.Time))
		if err == nil {
			steady.calibrate(t.session)
			g.readSteady(t, &steady)
		}
		return err
	}})
}

// LoadStepOptions are those of LoadStep.
type LoadStepOptions struct {
	Speed string // name of the speed setting; empty is the first
}

// LoadStep holds a speed setting, puts the load on by collective, holds, and
// takes it off again.
func LoadStep(ctx context.Context, b *Bench, o LoadStepOptions) (*Run, error) {
	setting, err := choose(b.Machine, o.Speed)
	if err != nil {
		return nil, err
	}
	declared := append(steadyMeasures(setting), loadMeasures(setting)...)
	return b.run(ctx, plan{name: "loadstep", options: o, setting: setting, declared: declared, body: func(t *test) error {
		g := newGoverned(b.Machine, setting)
		if ok, err := g.spoolUp(t, declared); !ok {
			return err
		}
		load := b.Machine.LoadStep
		hold, ramp := float64(load.Hold), float64(load.Ramp)
		steady := g.phase(phaseSteady, hold)
		on := g.load(phaseOn, float64(load.CollectiveHigh), ramp, hold)
		off := g.load(phaseOff, float64(load.CollectiveLow), ramp, hold)
		part, _, err := t.play(steady, on, off)
		if err != nil {
			return err
		}
		part.calibrate(t.session)
		g.readSteady(t, &part)
		g.readLoad(t, &part)
		return nil
	}})
}

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

// governed is a governor holding a speed setting of a machine.
type governed struct {
	m       *machine.Machine
	setting machine.SpeedSetting
	last    rig.Phase // the orders that stand
}

func newGoverned(m *machine.Machine, setting machine.SpeedSetting) *governed {
	g := &governed{m: m, setting: setting}
	g.last = rig.Phase{
		Stick: g.stick(0), Select: seconds(selectWidth(&m.Governor, g.engine())),
		Collective: float64(m.LoadStep.CollectiveLow),
	}
	return g
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

// spoolUp begins a loop around the machine: idle, then stick up until the
// governor holds. When it does not, the declared measures are noted as not
// run.
func (g *governed) spoolUp(t *test, declared []measure.Declaration) (ok bool, err error) {
	t.helicopter()
	idle := g.phase(phaseIdle, idleTime)
	g.last.Stick = g.stick(governedStick)
	spool := g.phase(phaseSpool, spoolLimit)
	spool.Settle = &rig.Settle{Above: 0.7 * g.engine(), Band: settleBand, For: steps(settleTime)}
	_, settled, err := t.play(idle, spool)
	if err != nil || settled {
		return err == nil, err
	}
	const why = "the engine did not become steady within a minute of the stick going up"
	for _, d := range declared {
		t.sheet.NotRun(d.Name, why)
	}
	t.sheet.Warn("%s: does the governor arm, is its pickup polarity right, and is the stick taught?", why)
	return false, nil
}

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

func steadyMeasures(setting machine.SpeedSetting) []measure.Declaration {
	head := measure.Declaration{
		Name: "head_speed", Unit: "rpm",
		Meaning:    "Mean speed of the main rotor while the load is steady.",
		Convention: "mean over the steady phase; the limits are the wanted head speed with its allowed error",
	}
	if e := setting.Limits.SpeedError; e != nil {
		wanted := float64(setting.HeadSpeed) * rpm
		head.Limit = measure.Between(wanted*(1-float64(*e)), wanted*(1+float64(*e)))
	}
	return []measure.Declaration{
		{
			Name: "governed_speed", Unit: "rpm",
			Meaning:    "Mean speed of the engine while the load is steady.",
			Convention: "mean over the steady phase",
		},
		head,
		{
			Name: "steady_state_speed_band", Unit: "%", Limit: percent(setting.Limits.Band),
			Meaning:    "How much the speed wanders while the load is steady: fastest less slowest.",
			Convention: "ISO 8528-5 β: full width of the envelope, in % of the declared (wanted) speed",
		},
	}
}

func (g *governed) readSteady(t *test, part *Trace) {
	from, to := part.phase(phaseSteady)
	t.sheet.Take("governed_speed", step.MeanSpeed(part.speed(from, to)))
	t.sheet.Take("head_speed", step.MeanSpeed(part.head(from, to)))
	t.sheet.Take("steady_state_speed_band", step.SteadyBand(part.speed(from, to), g.declared()))
}

// beforeTime is the window just before a load change in which the speed before
// is read, s.
const beforeTime = 1.0

// tolerance is the full width of the band about the new speed in which a load
// step counts as recovered, in % of the declared speed: α of ISO 8528-5 for
// its classes G2 and G3 (from memory).
const tolerance = 2.0

func loadMeasures(setting machine.SpeedSetting) []measure.Declaration {
	limits := setting.Limits
	dip := percent(limits.Dip)
	if dip != nil {
		dip = measure.AtLeast(-*dip.Max)
	}
	var recovery *measure.Limit
	if limits.RecoveryTime != nil {
		recovery = measure.AtMost(float64(*limits.RecoveryTime))
	}
	const deviation = "ISO 8528-5 transient deviation: from the declared (wanted) speed, in % of it"
	const clock = "ISO 8528-5 recovery time: from leaving the steady band to the lasting return into a band of 2 % of the declared speed (full width) about the new speed"
	return []measure.Declaration{
		{
			Name: "transient_deviation_load_on", Unit: "%", Limit: dip, Convention: deviation,
			Meaning: "How far the speed dips when the load comes on.",
		},
		{
			Name: "transient_deviation_load_off", Unit: "%", Limit: percent(limits.Overshoot), Convention: deviation,
			Meaning: "How far the speed rises when the load goes off.",
		},
		{
			Name: "recovery_time_load_on", Unit: "s", Limit: recovery, Convention: clock,
			Meaning: "How long the governor takes to bring the speed back after the load came on.",
		},
		{
			Name: "recovery_time_load_off", Unit: "s", Limit: recovery, Convention: clock,
			Meaning: "How long it takes after the load went off.",
		},
	}
}

func (g *governed) readLoad(t *test, part *Trace) {
	for _, change := range []struct{ before, after, suffix string }{
		{phaseSteady, phaseOn, "load_on"}, {phaseOn, phaseOff, "load_off"},
	} {
		from, _ := part.phase(change.before)
		event, to := part.phase(change.after)
		load := step.AnalyseLoad(part.speed(from, to), step.LoadConfig{
			Windows:  step.Windows{Event: part.Time[event], Before: beforeTime},
			Declared: g.declared(), Tolerance: tolerance,
		})
		t.sheet.Take("transient_deviation_"+change.suffix, load.FromDeclared)
		t.sheet.Take("recovery_time_"+change.suffix, load.RecoveryFromExit)
	}
}
