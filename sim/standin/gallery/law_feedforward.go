package gallery

import "math"

// feedForward adds a PI law, whose integral keeps within bounds of its own, to a
// share of the stick: u = c·stick + K·e + I, |I| ≤ bound.
type feedForward struct {
	k, ti, h, c, bound float64
	i, share           float64
	begun              bool
}

func (l *feedForward) start(share, _ float64) { l.share, l.begun = share, false }

func (l *feedForward) run(set, speed, stick float64) float64 {
	if !l.begun {
		l.i, l.begun = l.share-l.c*stick, true
	}
	e := set - speed
	u := l.c*stick + l.k*e + l.i
	if (u < 1 || e < 0) && (u > 0 || e > 0) {
		l.i = math.Min(math.Max(l.i+l.h*l.k/l.ti*e, -l.bound), l.bound)
	}
	return u
}

func (l *feedForward) scale(f float64) { l.k *= f }

func (l *feedForward) response(omega, _ float64) complex128 {
	return complex(l.k, 0) * (1 + complex(l.h/l.ti, 0)/(shift(omega, l.h)-1))
}

func (l *feedForward) terms(float64) (float64, float64, float64) { return l.k, l.ti, 0 }
