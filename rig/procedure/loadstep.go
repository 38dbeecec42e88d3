package procedure

import (
	"context"
	"fmt"

	"govrig/rig"
	"govrig/rig/measure"
	"govrig/rig/measure/step"
	"govrig/sim/machine"
)

// LoadStepOptions are those of LoadStep.
type LoadStepOptions struct {
	// Speed is the name of the speed setting; empty is the first, AllSpeeds
	// every one.
	Speed string
	// Brief leaves out the series that imitates flight.
	Brief bool
}

// LoadStep holds a speed setting, puts the load on by collective, holds, takes
// it off again, and then plays a series of loads that imitates flight.
func LoadStep(ctx context.Context, b *Bench, o LoadStepOptions) (*Run, error) {
	settings, err := chooseSeveral(b.Machine, o.Speed)
	if err != nil {
		return nil, err
	}
	several := len(settings) > 1
	var declared []measure.Declaration
	for _, s := range settings {
		all := append(steadyMeasures(s), loadMeasures(s)...)
		if !o.Brief {
			all = append(all, flightMeasures(s)...)
		}
		declared = append(declared, suffixed(all, s, several)...)
	}
	return b.run(ctx, plan{name: "loadstep", options: o, setting: only(settings), declared: declared, body: func(t *test) error {
		g := newGoverned(b.Machine, settings[0])
		if ok, err := g.spoolUp(t, declared); !ok {
			return err
		}
		for i, s := range settings {
			g.to(s, several)
			held, err := g.loadStep(t, i > 0, o.Brief)
			if err != nil {
				return err
			}
			if !held {
				g.letGo(t, declared[i*len(declared)/len(settings):])
				return nil
			}
		}
		return nil
	}})
}

// settleHold is how long the speed has to stay where it is after a change of
// setting, s.
const settleHold = 1.5

// loadStep plays the loads at the present setting and reads the measures. held
// is false when the governor does not hold the setting, to which it has moved.
func (g *governed) loadStep(t *test, moved, brief bool) (held bool, err error) {
	load := g.m.LoadStep
	hold, ramp := float64(load.Hold), float64(load.Ramp)
	var phases []rig.Phase
	if moved {
		phases = append(phases, g.settled(g.name("settle"), spoolLimit, settleHold))
	}
	phases = append(phases,
		g.phase(g.name(phaseSteady), hold),
		g.load(g.name(phaseOn), float64(load.CollectiveHigh), ramp, hold),
		g.load(g.name(phaseOff), float64(load.CollectiveLow), ramp, hold),
	)
	over, whyNot := g.overload()
	if !brief {
		phases = append(phases, g.flight(over)...)
	}
	part, held, err := t.play(phases...)
	if err != nil || !held {
		return held, err
	}
	part.calibrate(t.session)
	g.readSteady(t, &part)
	g.readLoad(t, &part)
	if !brief {
		g.readFlight(t, &part, whyNot)
	}
	return true, nil
}

// beforeTime is the window just before a load change in which the speed before
// is read, s.
const beforeTime = 2.0

// tolerance is the full width of the band about the new speed in which a load
// step counts as recovered, in % of the declared speed: α of ISO 8528-5 for
// its classes G2 and G3 (from memory).
const tolerance = 2.0

// deviations are the limits of dip and rise, in %.
func deviations(l machine.Limits) (dip, rise *measure.Limit) {
	if dip = percent(l.Dip); dip != nil {
		dip = measure.AtLeast(-*dip.Max)
	}
	return dip, percent(l.Overshoot)
}

func loadMeasures(setting machine.SpeedSetting) []measure.Declaration {
	dip, rise := deviations(setting.Limits)
	var recovery *measure.Limit
	if limit := setting.Limits.RecoveryTime; limit != nil {
		recovery = measure.AtMost(float64(*limit))
	}
	const deviation = "ISO 8528-5 transient deviation: from the declared (wanted) speed, in % of it"
	const clock = "ISO 8528-5 recovery time: from leaving the steady band to the lasting return into a band of 2 % of the declared speed (full width) about the new speed"
	return []measure.Declaration{
		{
			Name: "transient_deviation_load_on", Unit: "%", Limit: dip, Convention: deviation,
			Meaning: "How far the speed dips when the load comes on.",
		},
		{
			Name: "transient_deviation_load_off", Unit: "%", Limit: rise, Convention: deviation,
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
		from, _ := part.phase(g.name(change.before))
		event, to := part.phase(g.name(change.after))
		load := step.AnalyseLoad(part.speed(from, to), step.LoadConfig{
			Windows:  step.Windows{Event: part.Time[event], Before: beforeTime},
			Declared: g.declared(), Tolerance: tolerance,
		})
		g.take(t, "transient_deviation_"+change.suffix, load.FromDeclared)
		g.take(t, "recovery_time_"+change.suffix, load.RecoveryFromExit)
		g.tellLoad(t, change.after, load)
	}
}

// tellLoad says what a load change did.
func (g *governed) tellLoad(t *test, change string, load step.Load) {
	if !load.FromDeclared.OK() {
		return
	}
	back := "it is not back at the end"
	if r := load.RecoveryFromExit; r.OK() {
		back = fmt.Sprintf("it is back after %.1f s", r.Value)
	}
	t.found("%s, %s: the speed goes to %+.1f %% of the wanted; %s.", g.setting.Name, change, load.FromDeclared.Value, back)
	sag := 100 * (load.Initial.Value - load.Final.Value) / g.declared()
	if change == phaseOn && load.Initial.OK() && load.Final.OK() && sag > droopLimit(g.setting) {
		g.tellDroop(t, sag)
	}
}
