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
// speed over the pulses of a frame (over P, where that is longer), the mean age of
// the newest of those pulses, and the output held until the next pulse has ended. sinc(x) is sin(x)/x. The
// steps of output and speed setting, and the ends of the travel, have no place
// in it. (Sampled PI and hold: Åström and Wittenmark, Computer-Controlled
// Systems, from memory.)
//
// Where the law runs in small steps instead, on a speed of a known age L, it is
// that of the law itself, C, and the two terms of measuring give way to that age:
//
//	H = −W · C(jω) · e^{−jωL} · sinc(ωh/2)·e^{−jω(h/2+w)}
func (p Params) Response(omega, engineSpeed, width float64) complex128 {
	h, travel := 1/p.FrameRate, p.ThrottleOpen-p.ThrottleClosed
	held := complex(-travel*sinc(omega*h/2), 0) * cmplx.Rect(1, -omega*(h/2+width))
	share := math.Max(0, math.Min(1, (width-p.ThrottleClosed)/travel))
	pulse := 2 * math.Pi / (engineSpeed * float64(p.PulsesPerTurn))
	if p.aged() {
		age := p.DeadTime + p.DeadTurns*pulse*float64(p.PulsesPerTurn)
		return held * p.lawResponse(complex(0, omega), complex(0, omega), share) * cmplx.Rect(1, -omega*age)
	}
	z, over := cmplx.Rect(1, omega*h), math.Max(h, pulse)
	measured := complex(sinc(omega*over/2), 0) * cmplx.Rect(1, -omega*(over/2+pulse/2))
	return held * p.lawResponse((z-1)/complex(h, 0), (1-1/z)/complex(h, 0), share) * measured
}

// lawResponse is that of the law about a share of throttle; forward is what stands
// for s where the law sums, backward where it takes differences: jω, or what the
// steps of the law make of it.
func (p Params) lawResponse(forward, backward complex128, share float64) complex128 {
	c := complex128(1)
	if p.IntegralTime > 0 {
		c += 1 / (complex(p.IntegralTime, 0) * forward)
	}
	if p.DerivativeTime > 0 {
		c += complex(p.DerivativeTime, 0) * backward / (1 + complex(p.DerivativeLag, 0)*backward)
	}
	if p.MeasureLag > 0 {
		c /= 1 + complex(p.MeasureLag, 0)*forward
	}
	return complex(p.Gain*(1+p.GainRise*share), 0) * c
}

func sinc(x float64) float64 {
	if x == 0 {
		return 1
	}
	return math.Sin(x) / x
}
