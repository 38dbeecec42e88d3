package linkage

import "math"

// Lens is the area common to two circles of radius r1 and r2 whose centres are
// d apart, in the square of their unit. The closed form is the sum of two
// circular segments (Weisstein, MathWorld, "Circle-Circle Intersection").
func Lens(r1, r2, d float64) float64 {
	d = math.Abs(d)
	small := math.Min(r1, r2)
	switch {
	case d >= r1+r2:
		return 0
	case d <= math.Abs(r1-r2):
		return math.Pi * small * small
	}
	return segment(r1, r2, d) + segment(r2, r1, d)
}

// segment is the part of circle r that lies beyond the chord shared with a
// circle of radius other, d away.
func segment(r, other, d float64) float64 {
	x := (d*d + r*r - other*other) / (2 * d) // distance to the chord, signed
	x = math.Max(-r, math.Min(r, x))
	return r*r*math.Acos(x/r) - x*math.Sqrt(r*r-x*x)
}

// chord is the length of the line through the two points where the circles
// meet, or 0. It is also −dLens/dd.
func chord(r1, r2, d float64) float64 {
	if d >= r1+r2 || d <= math.Abs(r1-r2) {
		return 0
	}
	x := (d*d + r1*r1 - r2*r2) / (2 * d)
	return 2 * math.Sqrt(math.Max(0, r1*r1-x*x))
}

// Window is the area in m² of one of the barrel's two windows, with the barrel
// turned by rotation (rad) from fully open to either side. It is right up to
// π − ClosedAt, where the other end of the hole would come round.
func (b Barrel) Window(rotation float64) float64 {
	return Lens(b.Bore/2, b.Hole/2, b.apart(rotation))
}

// FlowArea is the effective area CdA in m² of the two windows in series, with
// the same discharge coefficient at each: Cd·Window/√2.
func (b Barrel) FlowArea(rotation, discharge float64) float64 {
	return discharge * b.Window(rotation) / math.Sqrt2
}

// Share is the open share of the full window, 0 to 1, and so of the full flow
// area.
func (b Barrel) Share(rotation float64) float64 {
	return b.Window(rotation) / b.Window(0)
}

// ShareSlope is d(Share)/d(rotation), per rad. With hole and bore alike it
// jumps from + to − at fully open, where it is returned as 0.
func (b Barrel) ShareSlope(rotation float64) float64 {
	d := b.apart(rotation)
	turn := b.Diameter / 2 * math.Cos(rotation/2) // d(apart)/d|rotation|
	return -math.Copysign(chord(b.Bore/2, b.Hole/2, d)*turn/b.Window(0), rotation)
}

// ClosedAt is the rotation in rad, from fully open, at which the windows just
// close. A barrel too thin to close gives π.
func (b Barrel) ClosedAt() float64 {
	return 2 * math.Asin(math.Min(1, (b.Bore+b.Hole)/2/b.Diameter))
}

// apart is the distance between the centres of bore and hole, m.
func (b Barrel) apart(rotation float64) float64 {
	return b.Diameter * math.Sin(math.Min(math.Abs(rotation), math.Pi)/2)
}
