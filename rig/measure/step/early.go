package step

import (
	"math"

	"govrig/rig/measure"
)

// leastStay is for how long a speed must have been back before the log ends, s.
const leastStay = 0.2

// endsEarly is the recovery in a log that ends soon after it: the new steady speed
// is not known then, so the return is that into the band about the speed before.
// The speed must have stayed there to the end of the log, and at its pace stay there
// for as long again.
func (a *answer) endsEarly(half float64) measure.Reading {
	s, centre := a.after, a.initial.value
	out := -1
	for i, y := range s.Y {
		if math.Abs(y-centre) > half {
			out = i
		}
	}
	if window := a.final.to - a.final.from; out < 0 || out+1 >= s.Len() || s.T[out] < a.final.to-1.8*window {
		return measure.Missing("the log does not end soon after the speed is back")
	}
	stay := measure.Series{T: s.T[out+1:], Y: s.Y[out+1:]}
	if stay.Len() < fewest || stay.Span() < leastStay {
		return measure.Missing("the log ends %.2g s after the return", stay.Span())
	}
	ahead := stay.Mean() + DriftOf(stay).Rate*1.5*stay.Span()
	if math.Abs(ahead-centre) > half {
		return measure.Missing("the speed is on its way through the band when the log ends")
	}
	edge := centre + math.Copysign(half, s.Y[out]-centre)
	t := math.Max(0, crossing(s, out, edge)-a.event)
	return measure.Read(t).With("return into ±%.4g about the speed before, %.6g", half, centre).
		Warn("the log ends %.2g s after the return, too soon to know the new steady speed: the return is that to the speed before", stay.Span())
}
