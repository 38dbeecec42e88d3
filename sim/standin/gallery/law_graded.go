package gallery

import "math"

// graded is a law of rules: an error is small, middling or large by degrees, each
// rule has a gain, and the rules are mixed by how well they fit (a fuzzy controller
// of Sugeno's kind, from memory). Its gain grows from once to twice between no error
// and wide, rad/s, so that it has no response that holds for every change.
type graded struct {
	k, ti, h, wide float64
	u, e           float64
	begun          bool
}

func (l *graded) start(share, _ float64) { l.u, l.begun = share, false }

func (l *graded) run(set, speed, _ float64) float64 {
	e := set - speed
	if !l.begun {
		l.e, l.begun = e, true
	}
	gain := l.k * (1 + math.Min(1, math.Abs(e)/l.wide))
	l.u = math.Min(math.Max(l.u+gain*(e-l.e+l.h/l.ti*e), 0), 1)
	l.e = e
	return l.u
}

func (l *graded) scale(f float64) { l.k *= f }
