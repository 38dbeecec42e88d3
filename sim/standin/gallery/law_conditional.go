package gallery

import "math"

// conditional is a PI law that integrates only while its output is off its ends or
// on the way back from them (conditional integration; Åström and Hägglund, PID
// Controllers, 1995, section 3.5, from memory), and moves its output by no more
// than rate, share per s. For small changes it is a PI law.
type conditional struct {
	pi
	rate, last float64
}

func (l *conditional) start(share, speed float64) {
	l.pi.start(share, speed)
	l.last = share
}

func (l *conditional) run(set, speed, _ float64) float64 {
	e := set - speed
	u := l.k*e + l.i
	if (u < 1 || e < 0) && (u > 0 || e > 0) {
		l.i += l.h * l.k / l.ti * e
	}
	step := l.rate * l.h
	l.last = math.Min(math.Max(math.Min(math.Max(u, 0), 1), l.last-step), l.last+step)
	return l.last
}
