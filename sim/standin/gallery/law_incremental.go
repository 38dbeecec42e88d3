package gallery

import "math"

// incremental is a PI law in velocity form, Δu = K·Δe + K·h/Ti·e, on a share
// that stays between the ends by itself.
type incremental struct {
	k, ti, h float64
	u, e     float64
	begun    bool
}

func (l *incremental) start(share, _ float64) { l.u, l.begun = share, false }

func (l *incremental) run(set, speed, _ float64) float64 {
	e := set - speed
	if !l.begun {
		l.e, l.begun = e, true
	}
	l.u = math.Min(math.Max(l.u+l.k*(e-l.e)+l.k*l.h/l.ti*e, 0), 1)
	l.e = e
	return l.u
}

func (l *incremental) scale(f float64) { l.k *= f }

// response is K·(1 + (h/Ti)·z/(z−1)).
func (l *incremental) response(omega, _ float64) complex128 {
	z := shift(omega, l.h)
	return complex(l.k, 0) * (1 + complex(l.h/l.ti, 0)*z/(z-1))
}

func (l *incremental) terms(float64) (float64, float64, float64) { return l.k, l.ti, 0 }
