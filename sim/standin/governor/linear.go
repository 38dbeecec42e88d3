package governor

import (
	"math"
	"math/cmplx"
)

// Response is the governor's transfer function for small changes, from engine
// speed (rad/s) to the width of the throttle pulse (s), at ω rad/s, while it
// governs near the given engine speed and pulse width. With h the time of an
// output frame, P that of a pickup pulse, w the pulse width and z = e^{jωh}:
//
//	H = −W · K·(1 + (h/Ti)/(z−1)) · sinc(ωh/2)·e^{−jωh/2} · e^{−jωP/2} · sinc(ωh/2)·e^{−jω(h/2+w)}
//
// W is the throttle travel; then come the PI law run once a frame, the mean
// speed over the pulses of a frame, the mean age of the newest of those pulses,
// and the output held until the next pulse has ended. sinc(x) is sin(x)/x. The
// steps of output and speed setting, and the ends of the travel, have no place
// in it. (Sampled PI and hold: Åström and Wittenmark, Computer-Controlled
// Systems, from memory.)
func (p Params) Response(omega, engineSpeed, width float64) complex128 {
	h := 1 / p.FrameRate
	pi := complex(p.Gain, 0)
	if p.IntegralTime > 0 {
		z := cmplx.Exp(complex(0, omega*h))
		pi *= 1 + complex(h/p.IntegralTime, 0)/(z-1)
	}
	pulse := 2 * math.Pi / (engineSpeed * float64(p.PulsesPerTurn))
	delay := h/2 + pulse/2 + h/2 + width
	gain := -(p.ThrottleOpen - p.ThrottleClosed) * sinc(omega*h/2) * sinc(omega*h/2)
	return pi * complex(gain, 0) * cmplx.Rect(1, -omega*delay)
}

func sinc(x float64) float64 {
	if x == 0 {
		return 1
	}
	return math.Sin(x) / x
}
