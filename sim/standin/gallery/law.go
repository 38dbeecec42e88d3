package gallery

import "math/cmplx"

// law makes a share of throttle out of speeds, rad/s, once a period.
type law interface {
	// start begins at a share that is ordered already, without a jump.
	start(share, speed float64)
	// run is one step; the share may lie beyond the ends. It is then cut.
	run(set, speed, stick float64) float64
	// scale multiplies the gain.
	scale(factor float64)
}

// linearLaw is a law that has a response for small changes.
type linearLaw interface {
	law
	// response is from speed error, rad/s, to share, at ω rad/s about a share,
	// seen at the moments at which the law runs.
	response(omega, share float64) complex128
	// terms are the proportional gain, share per rad/s, about a share, the
	// integral time and the derivative time, s; 0 is none.
	terms(share float64) (gain, integral, derivative float64)
}

// shift is z = e^{jωh}.
func shift(omega, h float64) complex128 { return cmplx.Rect(1, omega*h) }
