package report

import (
	"math"
	"slices"
	"strings"

	"govrig/rig/record/replay"
	"govrig/rig/record/runlog"
	"govrig/rig/show/figure"
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

	head, engine, throttle *figure.Thinner // rpm; the engine geared down; µs
}

// span is a phase of a run.
type span struct {
	name     string // without the setting
	setting  string // where the phase names one
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
		c.head = figure.NewThinner(c.from-c.event, c.to-c.event, columns)
		c.engine = figure.NewThinner(c.from-c.event, c.to-c.event, columns)
		c.throttle = figure.NewThinner(c.from-c.event, c.to-c.event, columns)
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
	names, err := r.rec.Phases()
	if err != nil {
		return nil, false, err
	}
	for _, name := range names {
		spans = append(spans, r.span(name))
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

// span splits the name of a phase from that of the setting behind it.
func (r *reported) span(name string) span {
	base, setting, ok := strings.Cut(name, ", ")
	if ok && r.m != nil {
		if _, known := r.m.Speed(setting); known {
			return span{name: base, setting: setting}
		}
	}
	return span{name: name}
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
			c.setting = r.setting(s.setting)
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

// faultTimes finds when each fault of a run begins. Phases that lead up to a
// fault say so in their names.
func faultTimes(spans []span) (times []float64) {
	next := ""
	for _, s := range spans {
		before, named := strings.CutPrefix(s.name, "before ")
		switch leads := strings.HasSuffix(s.name, " before it"); {
		case named:
			next = before
		case leads && next == "":
			next = "any"
		case s.seen && !leads && next != "" && (next == s.name || next == "any"):
			times, next = append(times, s.from), ""
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
		return &clip{kind: k, title: s.name, from: from, to: s.to, event: s.from}
	}
	through := func(k kind, title, last string) *clip {
		c := &clip{kind: k, title: title, from: s.from, to: s.to, event: s.from, steady: s.to - s.from, overload: math.Inf(1)}
		for _, later := range spans[i:] {
			if later.seen && later.setting == s.setting {
				c.to = later.to
			}
			if later.name == "overload" && later.seen {
				c.overload = later.from - c.event
			}
			if later.name == last {
				break
			}
		}
		return c
	}
	switch r.rec.Info.Procedure + "/" + s.name {
	case "loadstep/load on":
		return before(loadOn)
	case "loadstep/load off":
		return before(loadOff)
	case "loadstep/climb":
		return through(flight, "loads that imitate flight", "stop")
	case "hold/steady":
		return through(held, "light, heavy, light load", "light again")
	case "spoolup/idle":
		return through(spool, "from idling to the setting", "spool-up")
	}
	return nil
}
