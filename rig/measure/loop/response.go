package loop

import (
	"math"
	"math/cmplx"
)

// Response is a transfer function on the imaginary axis, ω in rad/s.
type Response func(omega float64) complex128

// Times is the series connection of two parts.
func (r Response) Times(other Response) Response {
	return func(w float64) complex128 { return r(w) * other(w) }
}

// Scaled multiplies the gain by k.
func (r Response) Scaled(k float64) Response {
	return func(w float64) complex128 { return complex(k, 0) * r(w) }
}

// PI is Kp·(1 + 1/(Ti·s))·e^{−L·s}: a proportional-integral governor with dead
// time. The sign is that of a governor seen from its speed error, positive.
type PI struct {
	Kp    float64 // proportional gain, output per unit of speed
	Ti    float64 // integral time, s; infinite for no integral action
	Delay float64 // dead time L, s
}

// At is the transfer function at ω, rad/s.
func (p PI) At(omega float64) complex128 {
	h := complex(1, 0)
	if !math.IsInf(p.Ti, 1) {
		h += 1 / complex(0, omega*p.Ti)
	}
	return complex(p.Kp, 0) * h * Delay(p.Delay)(omega)
}

// Delay is a pure dead time of so many seconds.
func Delay(seconds float64) Response {
	return func(w float64) complex128 { return cmplx.Exp(complex(0, -w*seconds)) }
}

// Hold is the zero-order hold over the time between outputs:
// (1 − e^{−sT})/(sT), magnitude sinc(fT), delay T/2.
func Hold(t float64) Response {
	return func(w float64) complex128 {
		x := w * t / 2
		if x == 0 {
			return 1
		}
		return complex(math.Sin(x)/x, 0) * cmplx.Exp(complex(0, -x))
	}
}
