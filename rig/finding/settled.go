package finding

import (
	"math"

	"govrig/rig/measure"
)

// Drift is how much the speed moves on from one half of a window to the other: the
// difference of their means, in the unit of the series. Swings that the halves
// hold whole do not count; what comes before the window does not, either.
func Drift(s measure.Series) float64 {
	if s.Len() < 4 {
		return math.NaN()
	}
	middle := (s.T[0] + s.T[s.Len()-1]) / 2
	return s.Between(middle, math.Inf(1)).Mean() - s.Between(math.Inf(-1), middle).Mean()
}

// Settled reports whether a window of speeds has come to rest, so well that what is
// still to come is small against within, in the unit of the series. A slow way home
// that leaves so much, with a time constant of up to ten seconds, still moves by a
// seventh of it in half of a window of three seconds: exp(−t/τ).
func Settled(s measure.Series, within float64) bool {
	if s.Len() < 4 {
		return false
	}
	const slowest = 10.0 // s
	half := (s.T[s.Len()-1] - s.T[0]) / 2
	return math.Abs(Drift(s)) < within*(1-math.Exp(-half/slowest))
}
