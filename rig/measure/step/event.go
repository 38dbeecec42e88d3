package step

import (
	"fmt"
	"math"

	"govrig/rig/measure"
)

// Windows says where in a log a step lies and where the levels beside it are
// read.
type Windows struct {
	// Event is the moment of the change, s on the time axis of the log.
	Event float64
	// Before is the length of the window just before the event in which the
	// level before is read, s. Zero takes all that the log holds.
	Before float64
	// After is the length of the window at the end of the log in which the
	// new level is read, s. Zero takes the last quarter of what follows the
	// event.
	After float64
}

// answer is a log cut at its event, with the levels on both sides.
type answer struct {
	event   float64
	after   measure.Series // from the last sample at or before the event
	initial level
	final   level
	peak    int     // index in after of the greatest departure from initial
	sign    float64 // +1 when the speed went up from initial, -1 when down
}

// cut finds the answer to an event. The error says why there is none.
func cut(s measure.Series, w Windows) (*answer, error) {
	if err := s.Validate(); err != nil {
		return nil, err
	}
	before, after, err := split(s, w)
	if err != nil {
		return nil, err
	}
	length := w.After
	if length <= 0 {
		length = after.Span() / 4
	}
	end := after.T[after.Len()-1]
	tail := after.Between(end-length, math.Inf(1))
	if length > 0.9*(end-w.Event) || tail.Len() < fewest {
		return nil, fmt.Errorf("the log is too short after the event at %g s", w.Event)
	}
	a := &answer{
		event: w.Event, after: after,
		initial: readLevel(before, s.Between(before.T[0]-before.Span()/2, w.Event)),
		final:   readLevel(tail, after.Between(end-2*length, math.Inf(1))),
	}
	if g := firstGap(s, before.T[0]); g != nil && g.From <= a.final.from {
		return nil, fmt.Errorf("the log has a gap from %.3f s to %.3f s", g.From, g.To)
	}
	a.findPeak()
	if !a.visible(s) {
		return nil, fmt.Errorf("nothing stands out from the noise after the event at %g s", w.Event)
	}
	a.arrives()
	return a, nil
}

// split cuts a log at its event. The part after begins with the last sample at
// or before the event, so that the first crossing can be interpolated.
func split(s measure.Series, w Windows) (before, after measure.Series, err error) {
	if math.IsNaN(w.Event) || s.Len() == 0 || w.Event <= s.T[0] || w.Event >= s.T[s.Len()-1] {
		return before, after, fmt.Errorf("the event at %g s lies outside the log", w.Event)
	}
	from := math.Inf(-1)
	if w.Before > 0 {
		from = w.Event - w.Before
	}
	before = s.Between(from, w.Event)
	if before.Len() < fewest {
		return before, after, fmt.Errorf("the log is too short before the event at %g s", w.Event)
	}
	after = s.Between(w.Event, math.Inf(1))
	if after.T[0] > w.Event {
		start := s.Len() - after.Len() - 1
		after = measure.Series{T: s.T[start:], Y: s.Y[start:]}
	}
	if after.Len() < 2*fewest {
		return before, after, fmt.Errorf("the log is too short after the event at %g s", w.Event)
	}
	return before, after, nil
}

// findPeak finds the greatest departure from the speed before, on the side to
// which the speed first goes by half as much.
func (a *answer) findPeak() {
	greatest := 0.0
	for _, y := range a.after.Y {
		greatest = math.Max(greatest, math.Abs(y-a.initial.value))
	}
	a.sign = 0
	for i, y := range a.after.Y {
		d := y - a.initial.value
		if a.sign == 0 && math.Abs(d) >= greatest/2 {
			a.sign = math.Copysign(1, d)
			a.peak = i
		}
		if a.sign*d > a.sign*(a.after.Y[a.peak]-a.initial.value) {
			a.peak = i
		}
	}
	a.final.depth = math.Abs(a.after.Y[a.peak] - a.initial.value)
}

// arrives finds out whether the log ends while the speed is still on its way
// out or just turning: it has not come back from its extreme by much, and did
// not come near its final level within the first half of what follows the
// event.
func (a *answer) arrives() {
	back := math.Abs(a.after.Y[a.peak] - a.final.value)
	if back > 0.3*a.final.depth {
		return
	}
	half := 0.05 * a.final.depth
	if math.Abs(a.final.Rate)*a.final.Span/2 <= a.final.rms { // no creep, but noise or a swing
		half = math.Max(half, 1.2*a.final.half)
	}
	t, err := a.enters(a.final.value, half)
	if err == nil && t <= (a.final.to-a.event)/2 {
		return
	}
	a.final.unclear = fmt.Sprintf("the log ends at %.3f s, before it is clear where the speed goes", a.final.to)
}

// turned reports whether the speed has come back by half after it had gone all
// of the way, so that its extreme has been seen.
func (a *answer) turned() bool {
	out := false
	for _, y := range a.after.Y {
		d := a.sign * (y - a.initial.value)
		out = out || d >= 0.9*a.final.depth
		if out && d <= 0.5*a.final.depth {
			return true
		}
	}
	return false
}

// visible reports whether the answer stands clear of the noise before the event
// and of the resolution of the log. Twice the greatest departure before, and
// five times its root mean square, are passed by noise alone less than once
// in a hundred logs.
func (a *answer) visible(s measure.Series) bool {
	depth := math.Abs(a.after.Y[a.peak] - a.initial.value)
	noise := math.Max(2*a.initial.half, 5*a.initial.rms)
	return depth > noise+1.5*resolution(s) && depth > 1e-9*math.Abs(a.initial.value)
}

// resolution is the smallest difference between neighbours that is not zero.
func resolution(s measure.Series) float64 {
	least := math.Inf(1)
	for i := 1; i < s.Len(); i++ {
		if d := math.Abs(s.Y[i] - s.Y[i-1]); d > 0 {
			least = math.Min(least, d)
		}
	}
	return least
}

func firstGap(s measure.Series, from float64) *measure.Gap {
	for _, g := range s.Gaps() {
		if g.To > from {
			return &g
		}
	}
	return nil
}

// enters is the moment, in seconds after the event, from which the speed stays
// within half of centre until the end of the log, interpolated between the
// samples. It must have done so before the final window begins.
func (a *answer) enters(centre, half float64) (float64, error) {
	s := a.after
	last := -1
	for i, y := range s.Y {
		if math.Abs(y-centre) > half {
			last = i
		}
	}
	switch {
	case last < 0:
		return 0, nil
	case s.T[last] >= a.final.from:
		return 0, fmt.Errorf("does not settle: still outside ±%.4g of %.6g rpm at %.3f s", half, centre, s.T[last])
	}
	edge := centre + math.Copysign(half, s.Y[last]-centre)
	return math.Max(0, crossing(s, last, edge)-a.event), nil
}

// stays is enters about the new level, as a reading.
func (a *answer) stays(half float64) measure.Reading {
	why, warning := a.final.settled(half)
	if why != "" {
		return measure.Missing("%s", why)
	}
	t, err := a.enters(a.final.value, half)
	if err != nil {
		return measure.Missing("%s", err)
	}
	if a.final.creeps() && !a.firm(t, half) {
		return measure.Missing("%s", a.final.creep())
	}
	r := measure.Read(t).With("return into ±%.4g about %.6g", half, a.final.value)
	if warning != "" {
		r = r.Warn("%s", warning)
	}
	if again := a.again(half); again > 0 {
		r = r.Warn("the speed had come to rest and leaves the band again %.3f s after the event: is there a second event in the log?", again)
	}
	return r
}

// firm reports whether the time t of entering half about the new level is the
// same, to a tenth of it or 0.1 s, about the level that the speed still creeps
// to. A quick return is; a slow approach is not.
func (a *answer) firm(t, half float64) bool {
	other, err := a.enters(a.final.value+a.final.Ahead(), half)
	return err == nil && math.Abs(other-t) <= math.Max(0.1, 0.1*t)
}

// again looks for a second event: after its extreme the speed has rested within half of the new
// level for twice as long as it took to get there, and then departs by a third
// of the first departure or more. It gives when, in s after the event, or 0.
func (a *answer) again(half float64) float64 {
	s, centre := a.after, a.final.value
	depth := math.Max(half, math.Abs(s.Y[a.peak]-centre)/3)
	since := math.NaN()
	rested := false
	for i := a.peak; i < s.Len(); i++ {
		off := math.Abs(s.Y[i] - centre)
		switch at := s.T[i] - a.event; {
		case rested && off > depth:
			return at
		case off > half && !rested:
			since = math.NaN()
		case math.IsNaN(since):
			since = at
		case at-since > 2*since && since > 0:
			rested = true
		}
	}
	return 0
}

// leaves is the moment, in seconds after the event, at which the speed first
// leaves half of centre, interpolated. ok is false when it never does.
func (a *answer) leaves(centre, half float64) (t float64, ok bool) {
	s := a.after
	for i := 1; i < s.Len(); i++ {
		if math.Abs(s.Y[i]-centre) > half {
			edge := centre + math.Copysign(half, s.Y[i]-centre)
			return math.Max(0, crossing(s, i-1, edge)-a.event), true
		}
	}
	return 0, false
}

// crossing is where the straight line from sample i to i+1 meets a value.
func crossing(s measure.Series, i int, value float64) float64 {
	dy := s.Y[i+1] - s.Y[i]
	if dy == 0 {
		return s.T[i]
	}
	x := math.Min(1, math.Max(0, (value-s.Y[i])/dy))
	return s.T[i] + x*(s.T[i+1]-s.T[i])
}
