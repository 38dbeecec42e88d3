package loadstep

import (
	"fmt"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure"
	"govrig/rig/measure/step"
	"govrig/rig/phase"
	"govrig/sim/machine"
)

// loadStep plays the loads at the present setting and reads the measures. Each load
// stays until the speed has come to rest, however slowly. held is false when the
// governor does not hold the setting; part is then what it did.
func loadStep(g *governed.Governor, t *execution.Test, brief bool) (part execution.Trace, held bool, err error) {
	s, part, held, err := g.Seek(t)
	if err != nil || !held {
		return part, held, err
	}
	g.TellUnreached(t, &s, 100*(s.Best().Speed/g.Declared()-1))
	mark := t.Run.Trace.Mark()
	if err := changes(g, t); err != nil {
		return part, false, err
	}
	over, whyNot := overload(g)
	if !brief {
		if _, _, err := t.Play(flight(g, over)...); err != nil {
			return part, false, err
		}
	}
	part = t.Run.Trace.Since(mark)
	part.Calibrate(t.Session)
	g.ReadSteady(t, &part)
	readLoad(g, t, &part)
	if !brief {
		readFlight(g, t, &part, whyNot)
		t.Run.Views = append(t.Run.Views, flightView(g, &part))
	}
	return part, true, nil
}

// changes holds the setting, puts the load on and takes it off again.
func changes(g *governed.Governor, t *execution.Test) error {
	load := g.Machine.LoadStep
	hold, ramp := float64(load.Hold), float64(load.Ramp)
	if _, _, err := t.Play(g.Phase(g.Key(phase.Steady), hold)); err != nil {
		return err
	}
	if _, _, err := g.Rest(t, g.Load(g.Key(phase.LoadOn), float64(load.CollectiveHigh), ramp, 0), hold); err != nil {
		return err
	}
	_, _, err := g.Rest(t, g.Load(g.Key(phase.LoadOff), float64(load.CollectiveLow), ramp, 0), hold)
	return err
}

func loadMeasures(setting machine.SpeedSetting) []measure.Declaration {
	dip, rise := governed.Deviations(setting.Limits)
	var recovery *measure.Limit
	if limit := setting.Limits.RecoveryTime; limit != nil {
		recovery = measure.AtMost(float64(*limit))
	}
	const deviation = "ISO 8528-5 transient deviation from the steady speed before the change, in % of the declared (wanted) speed"
	const clock = "ISO 8528-5 recovery time: from leaving the steady band to the lasting return into a band of 2 % of the declared speed (full width) about the new speed"
	return []measure.Declaration{
		{
			Name: "transient_deviation_load_on", Key: measure.Key{What: "transient_deviation", Moment: measure.LoadOn}, Unit: "%", Limit: dip, Convention: deviation,
			Meaning: "How far the speed dips when the load comes on.",
		},
		{
			Name: "transient_deviation_load_off", Key: measure.Key{What: "transient_deviation", Moment: measure.LoadOff}, Unit: "%", Limit: rise, Convention: deviation,
			Meaning: "How far the speed rises when the load goes off.",
		},
		{
			Name: "recovery_time_load_on", Key: measure.Key{What: "recovery_time", Moment: measure.LoadOn}, Unit: "s", Limit: recovery, Convention: clock,
			Meaning: "How long the governor takes to bring the speed back after the load came on.",
		},
		{
			Name: "recovery_time_load_off", Key: measure.Key{What: "recovery_time", Moment: measure.LoadOff}, Unit: "s", Limit: recovery, Convention: clock,
			Meaning: "How long it takes after the load went off.",
		},
	}
}

func readLoad(g *governed.Governor, t *execution.Test, part *execution.Trace) {
	loads := map[phase.Kind]step.Load{}
	for _, change := range []struct {
		before, after phase.Kind
		suffix        string
	}{
		{phase.Steady, phase.LoadOn, measure.LoadOn}, {phase.LoadOn, phase.LoadOff, measure.LoadOff},
	} {
		from, _ := part.Span(g.Key(change.before))
		event, to := part.Span(g.Key(change.after))
		load := step.AnalyseLoad(part.EngineSpeed(from, to), step.LoadConfig{
			Windows:  step.Windows{Event: part.Time[event], Before: governed.BeforeTime},
			Declared: g.Declared(), Tolerance: governed.Tolerance,
		})
		g.Take(t, "transient_deviation_"+change.suffix, load.FromInitial)
		g.Take(t, "recovery_time_"+change.suffix, load.RecoveryFromExit)
		tellLoad(g, t, change.after, load)
		loads[change.after] = load
		t.Run.Views = append(t.Run.Views, viewOf(g, part, change.after, change.suffix, load))
	}
	tellSag(g, t, part, loads[phase.LoadOn], loads[phase.LoadOff])
}

// tellLoad says what a load change did.
func tellLoad(g *governed.Governor, t *execution.Test, change phase.Kind, load step.Load) {
	if !load.FromInitial.OK() {
		t.Found("%s, %s: nothing can be told: %s.", g.Setting.Name, change, load.FromInitial.Why)
		return
	}
	back := "when it is back cannot be told: " + load.RecoveryFromExit.Why
	if r := load.RecoveryFromExit; r.OK() {
		back = fmt.Sprintf("it is back after %.1f s", r.Value)
	}
	t.Found("%s, %s: the speed goes off by %+.1f %% of the wanted; %s.", g.Setting.Name, change, load.FromInitial.Value, back)
}

// lastSamples are those of the last three seconds of a load.
const lastSamples = 3 * 500

// tellSag says why the speed stays lower under the heavy load, where it does.
func tellSag(g *governed.Governor, t *execution.Test, part *execution.Trace, on, off step.Load) {
	sag := 100 * (on.Initial.Value - on.Final.Value) / g.Declared()
	if !on.FromInitial.OK() || !on.Initial.OK() || !on.Final.OK() || sag <= governed.DroopLimit(g.Setting) {
		return
	}
	_, to := part.Span(g.Key(phase.LoadOn))
	if from := max(0, to-lastSamples); g.TellWeak(t, part, from, to, float64(g.Machine.LoadStep.CollectiveHigh)) {
		return
	}
	if g.Droops(sag, on.Initial, off.Final) {
		g.TellDroop(t, sag)
	}
}
