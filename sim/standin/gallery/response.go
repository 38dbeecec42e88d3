package gallery

import "math"

// Response is its transfer function for small changes, from engine speed, rad/s,
// to the width of the throttle pulse, s, at ω rad/s, while it holds an engine
// speed with a throttle pulse, s; ok is false where it has none. With W the
// throttle travel, C the law at the moments at which it runs, h its period where
// that is its own, M the measured speed, F a frame and w the pulse:
//
//	H = −W · C(e^{jωh}) · M(jω) · sinc(ωh/2)·e^{−jωh/2} · sinc(ωF/2)·e^{−jω(F/2+w)}
//
// The last two are the hold of the law's output until it runs again, and of the
// pulse until the next has ended. (Sampled law and hold: Åström and Wittenmark,
// Computer-Controlled Systems, from memory.)
func (g *Governor) Response(omega, speed, pulse float64) (h complex128, ok bool) {
	l, linear := g.p.law.(linearLaw)
	if _, dead := g.p.law.(*deadBand); dead || !linear {
		return 0, false
	}
	scale := complex(-(g.w.Open-g.w.Closed)*g.p.reads(), 0)
	return scale * l.response(omega, g.w.share(pulse)) * g.lines(omega, speed, pulse), true
}

// lines is that of measuring and of the output, without the law.
func (g *Governor) lines(omega, speed, pulse float64) complex128 {
	period := 2 * math.Pi / (speed * float64(g.w.PulsesPerTurn))
	if _, double := g.p.gate.(*both); double {
		period /= 2
	}
	return g.p.filter.response(omega, period) * mean(omega, g.p.loop) * mean(omega, 1/g.p.frame) * late(omega, pulse)
}
