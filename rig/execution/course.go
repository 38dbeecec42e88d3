package execution

import "govrig/rig/phase"

// mostPoints is how many points a course has at most: nine minutes of a run are
// kept as they are.
const mostPoints = 1 << 18

// Course is a run as it is drawn: its head speed, whole while it is short. Of a
// long one, every stretch of equally many samples keeps its slowest and its fastest,
// so that no dip or peak is lost and memory does not grow.
type Course struct {
	Time, Head []float64 // s from the start of the run; rpm
	Phase      []int     // number of the phase of each
	Phases     []phase.Key

	stretch   int // samples to each two points; 0 is all of them kept
	taken     int // of the stretch under way
	low, high point
}

type point struct {
	time, head float64
	phase      int
}

// Add adds a sample. Samples come in the order of their moments.
func (c *Course) Add(time, head float64, phase int) {
	p := point{time, head, phase}
	if c.stretch == 0 {
		c.keep(p)
	} else {
		c.thin(p)
	}
	if len(c.Time) == mostPoints {
		c.halve()
	}
}

func (c *Course) keep(p point) {
	c.Time, c.Head, c.Phase = append(c.Time, p.time), append(c.Head, p.head), append(c.Phase, p.phase)
}

// thin takes in a sample of the stretch under way and keeps its two at its end.
func (c *Course) thin(p point) {
	if c.taken == 0 || p.head < c.low.head {
		c.low = p
	}
	if c.taken == 0 || p.head >= c.high.head {
		c.high = p
	}
	c.taken++
	if c.taken < c.stretch {
		return
	}
	c.taken = 0
	if c.low.time < c.high.time {
		c.keep(c.low)
		c.keep(c.high)
	} else {
		c.keep(c.high)
		c.keep(c.low)
	}
}

// halve keeps two of each four points, and has later stretches be twice as long.
func (c *Course) halve() {
	whole := *c
	*c = Course{Time: c.Time[:0], Head: c.Head[:0], Phase: c.Phase[:0], Phases: c.Phases, stretch: 4}
	for i := range whole.Time {
		c.thin(point{whole.Time[i], whole.Head[i], whole.Phase[i]})
	}
	c.stretch = max(4, 2*whole.stretch)
}

// Correct puts the course on true time, for a board whose clock is fast by a share.
func (c *Course) Correct(fast float64) {
	for i := range c.Time {
		c.Time[i] /= 1 + fast
		c.Head[i] *= 1 + fast
	}
}

// Heads is the course as a trace that knows nothing but moments, phases and head
// speeds.
func (c *Course) Heads() *Trace {
	return &Trace{Time: c.Time, Head: c.Head, Phase: c.Phase, Phases: c.Phases}
}
