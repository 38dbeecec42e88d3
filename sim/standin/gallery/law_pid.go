package gallery

import "math"

// pid has a derivative of the measured speed y behind a first-order filter,
// Tf·Ḋ + D = −K·Td·ẏ by backward differences, and holds its integral at the ends.
type pid struct {
	k, ti, td, tf, h float64
	i, d, y          float64
}

func (l *pid) start(share, speed float64) { l.i, l.d, l.y = share, 0, speed }

func (l *pid) run(set, speed, _ float64) float64 {
	e := set - speed
	l.d = (l.tf*l.d - l.k*l.td*(speed-l.y)) / (l.tf + l.h)
	l.y = speed
	u := l.k*e + l.i + l.d
	if cut := math.Min(math.Max(u, 0), 1); cut == u || (cut-u)*e > 0 {
		l.i += l.h * l.k / l.ti * e
	}
	return u
}

func (l *pid) scale(f float64) { l.k, l.d = l.k*f, l.d*f }

// response is K·(1 + (h/Ti)/(z−1) + Td·(1−z⁻¹)/(Tf + h − Tf·z⁻¹)).
func (l *pid) response(omega, _ float64) complex128 {
	z := shift(omega, l.h)
	derivative := complex(l.td, 0) * (1 - 1/z) / (complex(l.tf+l.h, 0) - complex(l.tf, 0)/z)
	return complex(l.k, 0) * (1 + complex(l.h/l.ti, 0)/(z-1) + derivative)
}

func (l *pid) terms(float64) (float64, float64, float64) { return l.k, l.ti, l.td }
