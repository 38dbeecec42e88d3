package report

import (
	"math"

	"govrig/rig/pen"
	"govrig/rig/phase"
	"govrig/rig/procedure"
	"govrig/rig/record/replay"
	"govrig/rig/runlog"
	"govrig/sim/words"
)

// view is a stretch of a run that is drawn. Its curves are thinned while they are
// read, so that a run of any length takes the same room.
type view struct {
	runlog.View
	head, engine, throttle *pen.Thinner // rpm; the engine geared down; µs
}

const (
	smallColumns = 330 // what a small figure can show
	wideColumns  = 700
)

// readViews collects what is drawn of the run: the stretches that it kept as worth
// a picture, or where there are none and an engine turned, the whole.
func (r *reported) readViews() error {
	all := r.run.Views
	if len(all) == 0 {
		whole, ok, err := r.whole()
		if err != nil || !ok {
			return err
		}
		all = []runlog.View{whole}
	}
	for _, v := range all {
		columns := smallColumns
		if v.Wide {
			columns = wideColumns
		}
		thinner := func() *pen.Thinner { return pen.NewThinner(v.From-v.Origin, v.To-v.Origin, columns) }
		r.views = append(r.views, &view{v, thinner(), thinner(), thinner()})
	}
	clock := r.clock()
	return r.rec.Samples(func(s *runlog.Sample) bool {
		at := clock.time(s)
		for _, v := range r.views {
			if at >= v.From && at <= v.To {
				v.add(at-v.Origin, s, clock.fast, r.ratio())
			}
		}
		return true
	})
}

// whole is the run from end to end, with a number where each fault begins: with the
// first phase of its own after the way to it. ok is false where no engine turned.
func (r *reported) whole() (v runlog.View, ok bool, err error) {
	p := procedure.All.Find(r.rec.Info.Procedure)
	if p == nil || !p.Engine {
		return v, false, nil
	}
	v = runlog.View{Title: "the whole run", Axis: "seconds of the run", Engine: true, Wide: true, Wanted: float64(r.run.Setting.HeadSpeed) * rpm}
	keys, err := replay.Phases(r.rec, r.m)
	if err != nil {
		return v, false, err
	}
	faults := faultsOf(keys)
	clock := r.clock()
	err = r.rec.Samples(func(s *runlog.Sample) bool {
		ok = ok || s.State.HeadSpeed > 0
		v.To = clock.time(s)
		if label, begins := faults[s.Phase]; begins {
			delete(faults, s.Phase)
			v.Marks = append(v.Marks, runlog.Mark{At: v.To, Label: label})
		}
		return true
	})
	return v, ok, err
}

// faultsOf numbers the phases with which faults begin.
func faultsOf(keys []phase.Key) map[int]string {
	faults, comes := map[int]string{}, false
	for i, k := range keys {
		switch {
		case k.Kind == phase.Before:
			comes = true
		case comes && k.Kind == phase.Fault:
			faults[i], comes = words.Number(float64(len(faults)+1)), false
		}
	}
	return faults
}

// clock is the board's, put right as far as its error is known.
type clock struct{ rate, fast float64 }

func (r *reported) clock() clock {
	return clock{float64(r.rec.Info.TickHz), replay.Fast(r.rec)}
}

func (c clock) time(s *runlog.Sample) float64 { return float64(s.Ticks) / c.rate / (1 + c.fast) }

func (r *reported) ratio() float64 {
	if r.m == nil {
		return 1
	}
	return r.m.Ratio()
}

func (c *view) add(at float64, s *runlog.Sample, fast, ratio float64) {
	c.head.Add(at, s.State.HeadSpeed*rpm*(1+fast))
	c.engine.Add(at, s.State.EngineSpeed*rpm*(1+fast)/ratio)
	throttle := s.Throttle * 1e6
	if throttle == 0 { // no pulse has come yet
		throttle = math.NaN()
	}
	c.throttle.Add(at, throttle)
}
