package gallery

import "math"

// scheduled is an incremental PI law whose gain grows with the share of throttle
// that it orders, K(u) = K·(a + (1−a)·u), since a barrel that is little open
// acts more strongly.
type scheduled struct {
	k, ti, h, a float64
	u, e        float64
	begun       bool
}

func (l *scheduled) start(share, _ float64) { l.u, l.begun = share, false }

func (l *scheduled) gain(share float64) float64 { return l.k * (l.a + (1-l.a)*share) }

func (l *scheduled) run(set, speed, _ float64) float64 {
	e := set - speed
	if !l.begun {
		l.e, l.begun = e, true
	}
	k := l.gain(l.u)
	l.u = math.Min(math.Max(l.u+k*(e-l.e)+k*l.h/l.ti*e, 0), 1)
	l.e = e
	return l.u
}

func (l *scheduled) scale(f float64) { l.k *= f }

func (l *scheduled) response(omega, share float64) complex128 {
	z := shift(omega, l.h)
	return complex(l.gain(share), 0) * (1 + complex(l.h/l.ti, 0)*z/(z-1))
}

func (l *scheduled) terms(share float64) (float64, float64, float64) { return l.gain(share), l.ti, 0 }
