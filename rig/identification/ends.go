package identification

import (
	"math"
	"slices"

	"govrig/rig/advise/predict"
	"govrig/rig/phase"
	"govrig/sim/machine"
)

const (
	calm       = 1.0   // s of light load before an overload that are simulated, too
	tellsApart = 0.004 // root mean square difference of the two, of the wanted speed, that tells them apart
)

// readEnds finds out whether the integral runs on while the throttle is at its end:
// the overload of a load step is simulated both ways, and that which comes nearer to
// what was measured is it, where they are far enough apart.
func (r *Result) readEnds(runs *kept, m *machine.Machine) error {
	if !r.Believed() || r.Model.Law.IntegralTime == nil || len(runs.of["loadstep"]) == 0 {
		return nil
	}
	s := m.Speeds[0]
	step, run := measuredStep(runs, s)
	if step == nil {
		return nil
	}
	all, err := stretches(run.Record, func(k phase.Key) bool {
		return (k.Kind == phase.Overload || k.Kind == phase.Stop) && (k.Setting == s.Name || k.Setting == "") && !k.Void
	})
	if err != nil || len(all) < 2 {
		return err
	}
	var load, head []float64
	for range int(calm / predict.Sample) {
		load = append(load, float64(m.LoadStep.CollectiveLow))
	}
	for _, part := range all[len(all)-2:] {
		load, head = append(load, part.load...), append(head, part.head...)
	}
	return r.judgeEnds(m, s, load, head)
}

// judgeEnds sets the two simulations beside the head's speed that was measured, rad/s.
func (r *Result) judgeEnds(m *machine.Machine, s machine.SpeedSetting, load, head []float64) error {
	var off [2]float64
	var courses [2][]float64
	for i, word := range []string{"no", "yes"} {
		model := *r.Model
		model.Law.WindUp = word
		with := *m
		with.Other = &model
		course, err := predict.Follow(&with, s, load)
		if err != nil {
			return nil // no trim: nothing to be told
		}
		courses[i] = course.Y[len(load)-len(head):]
		off[i] = apart(courses[i], head, 30/math.Pi)
	}
	wanted := float64(s.HeadSpeed) * 30 / math.Pi
	least := slices.Min(off[:])
	if apart(courses[0], courses[1], 1) < tellsApart*wanted || least > 0.5*slices.Max(off[:]) {
		return nil
	}
	r.Model.Law.WindUp = "no"
	if off[1] == least {
		r.Model.Law.WindUp = "yes"
	}
	return nil
}

// apart is the root mean square difference of two courses, the second times a factor.
func apart(a, b []float64, factor float64) float64 {
	sum := 0.0
	for i := range a {
		d := a[i] - factor*b[i]
		sum += d * d
	}
	return math.Sqrt(sum / float64(len(a)))
}
