package procedure

import (
	"sort"

	"govrig/rig"
	"govrig/rig/measure"
	"govrig/rig/runlog"
)

func (t *Trace) add(s *runlog.Sample, tickRate float64) {
	t.Time = append(t.Time, float64(s.Ticks)/tickRate)
	t.Speed = append(t.Speed, s.State.EngineSpeed*rpm)
	t.Head = append(t.Head, s.State.HeadSpeed*rpm)
	t.Throttle = append(t.Throttle, s.Throttle*1e6)
	t.Collective = append(t.Collective, s.Collective*degrees)
	t.Phase = append(t.Phase, s.Phase)
}

// calibrate scales times and speeds by the board's measured clock error, where
// it is known better than it is large: a board that counts fast makes every
// pulse come early, and so every speed too high.
func (t *Trace) calibrate(session *rig.Session) {
	fast, uncertainty, ok := session.ClockError.Estimate()
	if !ok || fast*fast <= uncertainty*uncertainty {
		return
	}
	for i := range t.Time {
		t.Time[i] /= 1 + fast
		t.Speed[i] *= 1 + fast
		t.Head[i] *= 1 + fast
	}
}

// phase gives the samples from..to of the named phase.
func (t *Trace) phase(name string) (from, to int) {
	for i, n := range t.Phases {
		if n == name {
			from = sort.Search(len(t.Phase), func(k int) bool { return t.Phase[k] >= i })
			to = sort.Search(len(t.Phase), func(k int) bool { return t.Phase[k] > i })
			return from, to
		}
	}
	return 0, 0
}

// speed is the engine speed over samples from..to.
func (t *Trace) speed(from, to int) measure.Series {
	return measure.Series{T: t.Time[from:to], Y: t.Speed[from:to]}
}

// head is the head speed over samples from..to.
func (t *Trace) head(from, to int) measure.Series {
	return measure.Series{T: t.Time[from:to], Y: t.Head[from:to]}
}
