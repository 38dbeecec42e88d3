package procedure

import (
	"context"
	"fmt"

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
	p := plan{name: "hold", setting: setting, script: governed(b.Machine, setting)}
	p.script.Phases = append(p.script.Phases, level(&p.script, phaseSteady, o.Time))
	p.declared = steadyMeasures(setting)
	p.read = func(sheet *measure.Sheet, t *Trace) { readSteady(sheet, t, b.Machine, setting) }
	return b.run(ctx, p)
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
	load := b.Machine.LoadStep
	p := plan{name: "loadstep", setting: setting, script: governed(b.Machine, setting)}
	hold := float64(load.Hold)
	p.script.Phases = append(p.script.Phases, level(&p.script, phaseSteady, hold))
	for _, change := range []struct {
		name string
		to   unit.Angle
	}{{phaseOn, load.CollectiveHigh}, {phaseOff, load.CollectiveLow}} {
		phase := level(&p.script, change.name, hold)
		phase.Collective, phase.Ramp = float64(change.to), steps(float64(load.Ramp))
		p.script.Phases = append(p.script.Phases, phase)
	}
	p.declared = append(steadyMeasures(setting), loadMeasures(setting)...)
	p.read = func(sheet *measure.Sheet, t *Trace) {
		readSteady(sheet, t, b.Machine, setting)
		readLoad(sheet, t, b.Machine, setting)
	}
	return b.run(ctx, p)
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

// governed is the beginning of every closed-loop script: idle, then stick up
// until the governor holds.
func governed(m *machine.Machine, setting machine.SpeedSetting) rig.Script {
	low, high := float64(m.Servo.ClosedPulse), float64(m.Servo.OpenPulse)
	engine := float64(setting.HeadSpeed) * m.Ratio()
	sel := seconds(selectWidth(&m.Governor, engine))
	collective := float64(m.LoadStep.CollectiveLow)
	return rig.Script{Phases: []rig.Phase{
		{Name: phaseIdle, Steps: steps(idleTime), Stick: seconds(low), Select: sel, Collective: collective},
		{
			Name: phaseSpool, Steps: steps(spoolLimit), Stick: seconds(low + governedStick*(high-low)), Select: sel,
			Collective: collective,
			Settle:     &rig.Settle{Above: 0.7 * engine, Band: settleBand, For: steps(settleTime)},
		},
	}}
}

// level is a phase that goes on as the last one of the script.
func level(s *rig.Script, name string, time float64) rig.Phase {
	last := s.Phases[len(s.Phases)-1]
	return rig.Phase{Name: name, Steps: steps(time), Stick: last.Stick, Select: last.Select, Collective: last.Collective}
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

func readSteady(sheet *measure.Sheet, t *Trace, m *machine.Machine, setting machine.SpeedSetting) {
	from, to := t.phase(phaseSteady)
	sheet.Take("governed_speed", step.MeanSpeed(t.speed(from, to)))
	sheet.Take("head_speed", step.MeanSpeed(t.head(from, to)))
	sheet.Take("steady_state_speed_band", step.SteadyBand(t.speed(from, to), declaredSpeed(m, setting)))
}

// declaredSpeed is the wanted engine speed, rpm, by which percentages divide.
func declaredSpeed(m *machine.Machine, setting machine.SpeedSetting) float64 {
	return float64(setting.HeadSpeed) * m.Ratio() * rpm
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

func readLoad(sheet *measure.Sheet, t *Trace, m *machine.Machine, setting machine.SpeedSetting) {
	for _, change := range []struct{ before, after, suffix string }{
		{phaseSteady, phaseOn, "load_on"}, {phaseOn, phaseOff, "load_off"},
	} {
		from, _ := t.phase(change.before)
		event, to := t.phase(change.after)
		if event == to {
			continue // the sheet shows it as not run
		}
		load := step.AnalyseLoad(t.speed(from, to), step.LoadConfig{
			Windows:  step.Windows{Event: t.Time[event], Before: beforeTime},
			Declared: declaredSpeed(m, setting), Tolerance: tolerance,
		})
		sheet.Take("transient_deviation_"+change.suffix, load.FromDeclared)
		sheet.Take("recovery_time_"+change.suffix, load.RecoveryFromExit)
	}
}
