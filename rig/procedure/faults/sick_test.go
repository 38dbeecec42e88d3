package faults

import (
	"math"
	"testing"

	"govrig/rig/execution"
	"govrig/rig/procedure/proceduretest"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
	"govrig/sim/standin/governor"
)

// Governors of the tests, apart from the stand-in: they time every pulse, govern at
// fixed moments of their own, and trust their lines in one way each.

// reaction is what one does without pickup pulses.
type reaction int

const (
	closes reaction = iota
	keeps           // the throttle where it is
	fails           // opens it, in a second
)

// sick is such a governor. The zero value of each of its ways is the healthy one.
type sick struct {
	p machine.Governor
	m *machine.Machine

	loss    reaction
	deaf    bool    // goes on without stick pulses
	latches float64 // a select width beyond which it opens for good, s; 0 is none
	divides bool    // takes the shortest interval ever heard for the true one
	stops   bool    // after stray pulses it leaves the throttle where it is, for good
	lowIdle float64 // share of throttle that it keeps when it closes
	swings  bool    // after the pickup was lost it opens and closes by turns
	later   float64 // s after stray pulses, when it closes until the stick goes low
	stop    float64 // share of throttle below which it never goes
	passes  bool    // never governs: the stick goes through
	high    bool    // engages only near the end of the stick
	unready bool    // takes up whatever it is shown when it is switched on
	supply  bool    // one that only its supply brings back once the pickup was lost

	stick, sel           line
	last, interval       int64 // of pickup pulses
	least                int64
	frame                int64
	dark, strays         int64
	engaged, lost, stuck bool
	set, sum, share      float64
	since, strayed       int64 // ticks, when the pickup was lost, and when a stray pulse came; 0 is none
}

// line times servo pulses.
type line struct {
	rise, fall, width int64
	high              bool
}

func (l *line) edge(tick int64, high bool) {
	if high {
		l.rise = tick
	} else if l.high {
		l.width, l.fall = tick-l.rise, tick
	}
	l.high = high
}

const (
	hz    = board.TickHz
	every = hz / 60 // ticks from frame to frame
)

func (s *sick) Edge(which governor.Line, tick int64, high bool) {
	if s.frame*every < s.dark {
		return
	}
	switch which {
	case governor.Stick:
		s.stick.edge(tick, high)
	case governor.Select:
		s.sel.edge(tick, high)
	case governor.Pickup:
		if high != (s.m.Pickup.Active == machine.Low) {
			s.pulse(tick)
		}
	}
}

func (s *sick) pulse(tick int64) {
	interval := tick - s.last
	stray := s.engaged && interval < s.interval*6/10
	if stray {
		if s.strays++; s.strays < 20 && !s.divides {
			s.strayed = tick
			if s.stops {
				s.stuck = true
			}
			return
		}
	} else {
		s.strays = max(0, s.strays-1)
	}
	s.last = tick
	if s.engaged && interval > s.interval*16/10 && interval < hz/10 && !s.divides {
		return // missing pulses
	}
	if s.divides && s.engaged && interval < s.least && interval > hz/1000 {
		s.least = interval
	}
	s.interval = interval
	if s.divides && s.least < interval*7/10 {
		s.interval = interval / 2
	}
	if s.least == 0 || !s.engaged {
		s.least = interval
	}
}

func (s *sick) NextFrame() int64 { return (s.frame + 1) * every }

func (s *sick) Frame() (rise, width int64) {
	rise = s.NextFrame()
	s.frame++
	if rise < s.dark {
		return rise, 0
	}
	s.share = math.Max(s.stop, math.Min(1, s.control(rise)))
	closed, open := float64(s.m.Servo.ClosedPulse), float64(s.m.Servo.OpenPulse)
	return rise, int64(math.Round((closed + s.share*(open-closed)) * hz))
}

// Restart switches it off and on.
func (s *sick) Restart(off float64) {
	ways := *s
	*s = sick{
		p: ways.p, m: ways.m, loss: ways.loss, deaf: ways.deaf, latches: ways.latches, divides: ways.divides, stops: ways.stops,
		lowIdle: ways.lowIdle, stop: ways.stop, later: ways.later, swings: ways.swings, passes: ways.passes, high: ways.high, unready: ways.unready, supply: ways.supply, frame: ways.frame,
	}
	s.dark = s.frame*every + int64(off*hz)
	s.last, s.interval = s.dark, hz
}

func (s *sick) control(now int64) float64 {
	closed, open := float64(s.m.Servo.ClosedPulse), float64(s.m.Servo.OpenPulse)
	stick := (float64(s.stick.width)/hz - closed) / (open - closed)
	silent := s.stick.width == 0 || float64(now-s.stick.fall) > 0.3*hz
	if s.passes {
		return stick
	}
	if stick < 0.25 || silent && !s.deaf {
		s.engaged, s.stuck, s.strayed = false, false, 0
		s.lost = s.lost && s.supply
		return math.Max(0, math.Min(stick, 0.25)) * b2f(!silent)
	}
	if s.high && !s.engaged && stick < 0.9 {
		return 0
	}
	if float64(now-s.last) > 0.15*hz && !s.lost && (s.engaged || !s.unready) {
		s.lost, s.since = true, now
	}
	wide := float64(s.sel.width)/hz > s.latches
	switch {
	case s.latches > 0 && wide && s.engaged:
		s.stuck = true
		return 1
	case s.later > 0 && s.strayed > 0 && float64(now-s.strayed) > s.later*hz:
		return 0
	case s.lost:
		return s.without(float64(now-s.since) / hz)
	case s.stuck:
		return s.share
	}
	return s.govern(stick)
}

// without is what it does some seconds after the pickup was lost.
func (s *sick) without(time float64) float64 {
	switch {
	case s.swings:
		return 0.4 * b2f(math.Mod(time, 1.6) > 0.8)
	case s.loss == keeps:
		return s.share
	case s.loss == fails:
		return s.share + 1.0/60
	}
	return s.lowIdle
}

func b2f(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// govern is an incremental PI law.
func (s *sick) govern(stick float64) float64 {
	speed := 2 * math.Pi * hz / float64(max(1, s.interval)) / float64(s.p.PulsesPerTurn)
	low, high := float64(s.p.SelectLow), float64(s.p.SelectHigh)
	part := math.Max(0, math.Min(1, (float64(s.sel.width)/hz-low)/(high-low)))
	wanted := float64(s.p.SpeedLow) + part*float64(s.p.SpeedHigh-s.p.SpeedLow)
	if !s.engaged {
		if speed < 0.15*float64(s.p.SpeedLow) {
			return stick
		}
		s.engaged, s.set, s.sum = true, speed, s.share
	}
	s.set = math.Min(s.set+200./60, wanted)
	e := s.set - speed
	const k, ti = 0.0012, 1.0
	out := s.sum + k*e
	if out > 0 && out < 1 {
		s.sum += k / ti * e / 60
	}
	return out
}

// ward is a bench with such a governor.
func ward(t testing.TB, m *machine.Machine, s sick) *execution.Bench {
	s.p, s.m, s.interval = m.Governor, m, hz
	return &execution.Bench{Machine: m, Board: board.New(board.Options{Governor: &s}), Where: "virtual", StandIn: &s}
}

// medium is the first worked machine.
func medium(t testing.TB) *machine.Machine { return proceduretest.Medium(t) }
