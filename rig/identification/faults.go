package identification

import (
	"math"
	"slices"
	"strings"

	"govrig/rig/measure"
	"govrig/rig/phase"
	"govrig/sim/machine"
	"govrig/sim/standin/governor/model"
	"govrig/sim/unit"
)

// readFaults reads what it does when the pickup or the stick is lost, and lists what
// it did in every fault.
func (r *Result) readFaults(runs *kept, m *machine.Machine) error {
	run := runs.newest("faults")
	if run == nil {
		r.miss("faults", "what it does when something fails")
		return nil
	}
	for i := range run.result.Measures {
		if of := &run.result.Measures[i]; of.Key.What == "throttle_at_end" && of.Value != nil {
			r.Model.Faults.Reactions = append(r.Model.Faults.Reactions, reactionOf(run, of.Key.Moment, *of.Value))
		}
	}
	r.takeUnsafe(run)
	lost, err := r.losses(run, m, "pickup lost")
	if err != nil {
		return err
	}
	r.takeLoss(lost, run.Name())
	stick, err := r.losses(run, m, "stick pulled")
	if err != nil || len(stick) == 0 {
		return err
	}
	switch s := stick[0]; {
	case s.closes:
		r.Model.Faults.OnStick = "closes"
		r.Model.Faults.StickTime = model.Known[unit.Time](s.time, s.error, run.Name())
	case s.still:
		r.Model.Faults.OnStick = "goes_on"
	}
	return nil
}

// takeUnsafe notes the faults in which it was not safe: the stand-in rides over odd
// pulses as it does, and not as this governor.
func (r *Result) takeUnsafe(run *run) {
	for i := range run.result.Measures {
		m := &run.result.Measures[i]
		fault := strings.ReplaceAll(m.Key.Moment, "_", " ")
		if fault != "" && m.Outcome == measure.Fail && !slices.Contains(r.Unsafe, fault) {
			r.Unsafe = append(r.Unsafe, fault)
		}
	}
	if len(r.Unsafe) > 0 {
		r.Model.Notes = "NOT SAFE on the bench in: " + strings.Join(r.Unsafe, ", ") + ". The model does not do all of that; faults of it prove nothing."
	}
}

// reactionOf is what was measured of one fault.
func reactionOf(run *run, fault string, throttle float64) model.Reaction {
	reaction := model.Reaction{Fault: fault, Run: run.Name()}
	share := unit.Share(math.Round(10*throttle) / 1000)
	reaction.Throttle = &share
	for i := range run.result.Measures {
		m := &run.result.Measures[i]
		if m.Key.Moment != fault || m.Value == nil {
			continue
		}
		switch m.Key.What {
		case "time_to_safe":
			if len(m.Warnings) == 0 {
				time := unit.Time(*m.Value)
				reaction.Time = &time
			}
		case "highest_speed":
			highest := unit.Share(*m.Value / 100)
			reaction.Highest = &highest
		}
	}
	return reaction
}

// loss is what the throttle did while a line was silent.
type loss struct {
	closes, opens, still bool
	time, error          float64 // until it began to, with the wait for its pulse taken out, s
	fall                 float64 // time in which it would close from full throttle; 0 is at once
}

const (
	moved  = 0.04 // of the throttle's travel: more than it sways by itself
	atOnce = 2.5  // frames: a fall as quick as that has no slope
)

// losses are what the throttle did in the faults of a name.
func (r *Result) losses(run *run, m *machine.Machine, fault string) (all []loss, err error) {
	parts, err := stretches(run.Record, func(k phase.Key) bool { return k.Kind == phase.Fault && k.Of == fault && !k.Void })
	if err != nil || r.Model.Throttle.FrameRate == nil {
		return nil, err
	}
	frame := 1 / float64(r.Model.Throttle.FrameRate.Value)
	closed, open := float64(m.Servo.ClosedPulse), float64(m.Servo.OpenPulse)
	for _, part := range parts {
		shares := slices.Clone(part.throttle)
		for i := range shares {
			shares[i] = (shares[i] - closed) / (open - closed)
		}
		all = append(all, lossOf(part.time, shares, frame))
	}
	return all, nil
}

// lossOf reads one: when the throttle left where it stood, and whither.
func lossOf(time, shares []float64, frame float64) (l loss) {
	at := shares[0]
	left := slices.IndexFunc(shares, func(v float64) bool { return math.Abs(v-at) > moved })
	if left < 0 {
		return loss{still: true}
	}
	// A pulse begins up to a frame later, and is read at its end.
	l.time, l.error = math.Max(0, time[left]-frame/2), frame/math.Sqrt(12)
	last := shares[len(shares)-1]
	l.closes, l.opens = last < moved && shares[left] < at, last > 1-moved && shares[left] > at
	down := slices.IndexFunc(shares, func(v float64) bool { return v < moved/2 })
	if l.closes && down > left && time[down]-time[left] > atOnce*frame {
		l.fall = (time[down] - time[left]) / (shares[left] - shares[down])
		l.time = math.Max(0, l.time-(at-shares[left])*l.fall)
	}
	return l
}

// takeLoss takes what several losses of the pickup have in common.
func (r *Result) takeLoss(all []loss, run string) {
	if len(all) == 0 {
		return
	}
	same := func(of func(loss) bool) bool { return !slices.ContainsFunc(all, func(l loss) bool { return !of(l) }) }
	f := &r.Model.Faults
	switch {
	case same(func(l loss) bool { return l.closes }):
		f.OnLoss = "closes"
	case same(func(l loss) bool { return l.opens }):
		f.OnLoss = "opens"
	case same(func(l loss) bool { return l.still }):
		f.OnLoss = "holds"
		return
	default:
		return
	}
	n := float64(len(all))
	time, fall := 0.0, 0.0
	for _, l := range all {
		time, fall = time+l.time/n, fall+l.fall/n
	}
	f.LossTime = model.Known[unit.Time](time, all[0].error/math.Sqrt(n), run)
	if fall > 0 {
		f.Fall = model.Known[unit.Time](fall, fall*all[0].error/time, run)
	}
}
