package pickup

import (
	"math"
	"sort"
)

// Pulse is one stretch of a turn over which the switch is on. Angles are rad
// of shaft, from a magnet's closest pass; Release is after Operate.
type Pulse struct {
	Operate, Release float64
}

// Width is the share of the turn, 0 to 1.
func (p Pulse) Width() float64 { return (p.Release - p.Operate) / (2 * math.Pi) }

// trip is a switch with its two points fixed.
type trip struct {
	kind             Kind
	operate, release float64
}

// sense is the field as the switch weighs it.
func (t trip) sense(b float64) float64 {
	if t.kind == Omnipolar {
		return math.Abs(b)
	}
	return b
}

// next is the switch's state after field b.
func (t trip) next(on bool, b float64) bool {
	if on {
		return t.sense(b) > t.release
	}
	return t.sense(b) >= t.operate
}

// pulses runs the switch over a period of the trace. The first round settles
// its state, the second is kept. stuck tells that it is on all the time.
func (s trip) pulses(t *trace) (pulses []Pulse, stuck bool) {
	walk := t.withZeros()
	on := false
	for _, at := range walk {
		on = s.next(on, at.field)
	}
	began := on
	var operates, releases []float64
	before := sample{angle: walk[len(walk)-1].angle - t.period()}
	for _, at := range walk {
		switch next := s.next(on, at.field); {
		case next && !on:
			operates = append(operates, s.crossing(t, s.operate, before, at))
		case on && !next:
			releases = append(releases, s.crossing(t, s.release, before, at))
		}
		on, before = s.next(on, at.field), at
	}
	if len(operates) == 0 {
		return nil, began
	}
	return pair(operates, releases, t.period()), false
}

// crossing is the angle between two samples at which the field passes a level.
func (s trip) crossing(t *trace, level float64, from, to sample) float64 {
	above := s.sense(to.field) >= level
	return bisect(from.angle, to.angle, func(angle float64) bool {
		return (s.sense(t.pass.field(angle)) >= level) == above
	})
}

// bisect finds where after turns true between lo and hi.
func bisect(lo, hi float64, after func(float64) bool) float64 {
	for range 50 {
		if mid := (lo + hi) / 2; after(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return (lo + hi) / 2
}

// pair gives every operate angle the next release, which may lie in the next
// period.
func pair(operates, releases []float64, period float64) []Pulse {
	pulses := make([]Pulse, len(operates))
	for i, operate := range operates {
		pulses[i] = Pulse{operate, releases[0] + period}
		if k := sort.SearchFloat64s(releases, operate); k < len(releases) {
			pulses[i].Release = releases[k]
		}
	}
	return pulses
}
