package identification

import (
	"govrig/rig/phase"
	"govrig/rig/runlog"
)

// stretch is what the samples of some phases show, one phase behind the other.
type stretch struct {
	time     []float64 // s, from the beginning of the first phase
	speed    []float64 // of the engine, rad/s
	head     []float64 // rad/s
	throttle []float64 // pulse, s; 0 while none has come
	load     []float64 // collective, rad
}

// stretches reads the samples of each phase, in order, that is wanted.
func stretches(r *runlog.Record, wanted func(phase.Key) bool) (all []stretch, err error) {
	keys, err := r.Phases()
	if err != nil {
		return nil, err
	}
	last := -1
	var from int64
	err = r.Samples(func(s *runlog.Sample) bool {
		if s.Phase >= len(keys) || !wanted(keys[s.Phase]) {
			return true
		}
		if s.Phase != last {
			last, from, all = s.Phase, s.Ticks, append(all, stretch{})
		}
		at := &all[len(all)-1]
		at.time = append(at.time, float64(s.Ticks-from)/float64(r.Info.TickHz))
		at.speed, at.head = append(at.speed, s.State.EngineSpeed), append(at.head, s.State.HeadSpeed)
		at.throttle, at.load = append(at.throttle, s.Throttle), append(at.load, s.Collective)
		return true
	})
	return all, err
}

// line is the straight line through points, least squares: its slope, and the root
// mean square of what it leaves.
func line(x, y []float64) (slope, left float64) {
	n := float64(len(x))
	var mx, my, xx, xy, yy float64
	for i := range x {
		mx, my = mx+x[i]/n, my+y[i]/n
	}
	for i := range x {
		xx += (x[i] - mx) * (x[i] - mx)
		xy += (x[i] - mx) * (y[i] - my)
		yy += (y[i] - my) * (y[i] - my)
	}
	slope = xy / xx
	return slope, max(0, yy-slope*xy) / n
}
