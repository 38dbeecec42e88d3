package gallery

import "math"

// pi is a PI law in position form, u = K·e + I, İ = K/Ti·e + (u' − u)/Tt with
// u' the share that is possible and Tt = Ti (back-calculation; Åström and
// Hägglund, PID Controllers, 1995, section 3.5, from memory). Unbounded leaves
// the second term of İ out.
type pi struct {
	k, ti, h  float64
	unbounded bool
	i         float64
}

func (l *pi) start(share, _ float64) { l.i = share }

func (l *pi) run(set, speed, _ float64) float64 {
	e := set - speed
	u := l.k*e + l.i
	possible := math.Min(math.Max(u, 0), 1)
	l.i += l.h * l.k / l.ti * e
	if !l.unbounded {
		l.i += l.h / l.ti * (possible - u)
	}
	return u
}

func (l *pi) scale(f float64) { l.k *= f }

// response is K·(1 + (h/Ti)/(z−1)).
func (l *pi) response(omega, _ float64) complex128 {
	return complex(l.k, 0) * (1 + complex(l.h/l.ti, 0)/(shift(omega, l.h)-1))
}

func (l *pi) terms(float64) (float64, float64, float64) { return l.k, l.ti, 0 }
