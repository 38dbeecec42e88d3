package sim

import "math"

// Crossing gives the share, 0 to 1, of a step of h seconds at which the crank
// reaches angle, rad, from the states before and after the step. Between the
// two known angles and speeds the angle is a cubic (Hermite interpolation); one
// Newton step from the straight line is exact enough: what is left is of the
// order of the speed's change squared.
func Crossing(before, after *State, angle, h float64) float64 {
	span := after.CrankAngle - before.CrankAngle
	x := (angle - before.CrankAngle) / span
	a, b := before.EngineSpeed*h, after.EngineSpeed*h
	// θ(x) = a x + (3 span − 2a − b) x² + (a + b − 2 span) x³ from before
	c2, c3 := 3*span-2*a-b, a+b-2*span
	value := x * (a + x*(c2+x*c3))
	slope := a + x*(2*c2+3*x*c3)
	if slope > 0 {
		x -= (value - (angle - before.CrankAngle)) / slope
	}
	return math.Max(0, math.Min(1, x))
}
