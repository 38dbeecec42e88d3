package report

import (
	"math"
	"slices"

	"govrig/rig/pen"
	"govrig/rig/phase"
	"govrig/rig/record/replay"
	"govrig/rig/record/runlog"
	"govrig/sim/machine"
)

// kind is what a clip shows, which decides the limits that are drawn in.
type kind int

const (
	whole  kind = iota // the run from end to end
	loadOn             // the load comes on
	loadOff
	flight // loads that imitate flight
	held   // a setting under light and heavy load
	spool  // from idling to the setting
)

// clip is a stretch of a run that is drawn. Its curves are thinned while they
// are read, so that a run of any length takes the same room.
type clip struct {
	kind     kind
	title    string
	setting  machine.SpeedSetting // zero where several or none
	from, to float64              // s of the run
	event    float64              // where the drawing's time is 0, s of the run
	steady   float64              // how long the first phase lasts, s
	overload float64              // when more load comes on than can be held, s of the drawing; or endless
	faults   []float64            // when each fault begins, s of the drawing

	head, engine, throttle *pen.Thinner // rpm; the engine geared down; µs
}

// span is a phase of a run.
type span struct {
	phase.Key
	from, to float64
	seen     bool
}

const (
	clipColumns = 330 // what a small figure can show
	wideColumns = 700
	lead        = 1.0 // s drawn before a load change
)

// readClips goes through the samples twice: to find where the phases lie, and
// to collect what is drawn.
func (r *reported) readClips() error {
	spans, turned, err := r.spans()
	if err != nil || !turned {
		return err
	}
	r.clips = r.choose(spans)
	for _, c := range r.clips {
		columns := clipColumns
		if c.kind == whole {
			columns = wideColumns
		}
		c.head = pen.NewThinner(c.from-c.event, c.to-c.event, columns)
		c.engine = pen.NewThinner(c.from-c.event, c.to-c.event, columns)
		c.throttle = pen.NewThinner(c.from-c.event, c.to-c.event, columns)
	}
	clock := r.clock()
	return r.rec.Samples(func(s *runlog.Sample) bool {
		at := clock.time(s)
		for _, c := range r.clips {
			if at >= c.from && at <= c.to {
				c.add(at-c.event, s, clock.fast, r.ratio())
			}
		}
		return true
	})
}

// spans finds the phases, and whether anything turned.
func (r *reported) spans() (spans []span, turned bool, err error) {
	keys, err := replay.Phases(r.rec, r.m)
	if err != nil {
		return nil, false, err
	}
	for _, key := range keys {
		spans = append(spans, span{Key: key})
	}
	clock := r.clock()
	err = r.rec.Samples(func(s *runlog.Sample) bool {
		turned = turned || s.State.HeadSpeed > 0
		if s.Phase < 0 || s.Phase >= len(spans) {
			return true
		}
		p := &spans[s.Phase]
		if p.to = clock.time(s); !p.seen {
			p.from, p.seen = p.to, true
		}
		return true
	})
	return spans, turned, err
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

func (c *clip) add(at float64, s *runlog.Sample, fast, ratio float64) {
	c.head.Add(at, s.State.HeadSpeed*rpm*(1+fast))
	c.engine.Add(at, s.State.EngineSpeed*rpm*(1+fast)/ratio)
	throttle := s.Throttle * 1e6
	if throttle == 0 { // no pulse has come yet
		throttle = math.NaN()
	}
	c.throttle.Add(at, throttle)
}

// choose picks what is drawn of the run.
func (r *reported) choose(spans []span) (clips []*clip) {
	for i, s := range spans {
		if c := r.clipAt(spans, i); c != nil && s.seen {
			c.setting = r.setting(s.Setting)
			clips = append(clips, c)
		}
	}
	if len(clips) > 0 || !slices.Contains([]string{"hold", "loadstep", "spoolup", "faults"}, r.rec.Info.Procedure) {
		return clips
	}
	c := &clip{kind: whole, title: "the whole run", setting: r.setting(""), faults: faultTimes(spans)}
	for _, s := range spans {
		c.to = math.Max(c.to, s.to)
	}
	if c.to == 0 {
		return nil
	}
	return []*clip{c}
}

// faultTimes finds when each fault of a run begins: with its first phase after the
// way to it.
func faultTimes(spans []span) (times []float64) {
	comes := false
	for _, s := range spans {
		switch {
		case s.Kind == phase.Before:
			comes = true
		case comes && s.seen && s.Kind == phase.Fault:
			times, comes = append(times, s.from), false
		}
	}
	return times
}

// setting is that of a phase, or else that of the run.
func (r *reported) setting(name string) machine.SpeedSetting {
	if r.m != nil && name != "" {
		s, _ := r.m.Speed(name)
		return s
	}
	return r.run.Setting
}

// clipAt is the clip that begins, or has its event, with phase i; nil is none.
func (r *reported) clipAt(spans []span, i int) *clip {
	s := spans[i]
	before := func(k kind) *clip {
		from := s.from - lead
		if i > 0 && spans[i-1].seen {
			from = math.Max(from, spans[i-1].from)
		}
		return &clip{kind: k, title: string(s.Kind), from: from, to: s.to, event: s.from}
	}
	through := func(k kind, title string, last phase.Kind) *clip {
		c := &clip{kind: k, title: title, from: s.from, to: s.to, event: s.from, steady: s.to - s.from, overload: math.Inf(1)}
		for _, later := range spans[i:] {
			if later.seen && later.Setting == s.Setting {
				c.to = later.to
			}
			if later.Kind == phase.Overload && later.seen {
				c.overload = later.from - c.event
			}
			if later.Kind == last {
				break
			}
		}
		return c
	}
	switch of := r.rec.Info.Procedure; {
	case of == "loadstep" && s.Kind == phase.LoadOn:
		return before(loadOn)
	case of == "loadstep" && s.Kind == phase.LoadOff:
		return before(loadOff)
	case of == "loadstep" && s.Kind == phase.Climb:
		return through(flight, "loads that imitate flight", phase.Stop)
	case of == "hold" && s.Kind == phase.Steady:
		return through(held, "light, heavy, light load", phase.LightAgain)
	case of == "spoolup" && s.Kind == phase.Idle:
		return through(spool, "from idling to the setting", phase.SpoolUp)
	}
	return nil
}
