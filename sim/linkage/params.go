package linkage

import (
	"math"

	"govrig/sim/bound"
)

// Params describe a throttle linkage and its rotary-barrel carburettor.
// Lengths are metres, angles radians.
//
// Angles are measured in the plane of the linkage, from the line that runs
// from the servo's shaft to the carburettor arm's pivot, positive
// anticlockwise. An arm at π/2 stands square to that line.
type Params struct {
	// ServoArm is the distance from the servo's shaft to the rod's ball, > 0.
	ServoArm float64
	// CarbArm is the distance from the barrel's pivot to the rod's ball, > 0.
	CarbArm float64
	// Pivots is the distance from the servo's shaft to the barrel's pivot, more
	// than ServoArm.
	Pivots float64
	// Rod is the length of the rod between ball centres, > 0. SquareRod gives
	// the length that puts both arms square at mid travel.
	Rod float64
	// Crossed is set when the arms stand on opposite sides of the line between
	// the pivots, so that the rod crosses it.
	Crossed bool

	// ServoMid is the servo arm's angle at mid travel; π/2 is square.
	ServoMid float64
	// Travel is how far the servo arm turns from mid travel to the open end.
	// Positive turns it away from the carburettor, negative toward it. The
	// closed end lies as far on the other side.
	Travel float64
	// CarbOpen is the carburettor arm's angle at which the barrel stands fully
	// open, its hole in line with the bore.
	CarbOpen float64

	Barrel Barrel
}

// Barrel is the rotary barrel of a carburettor: a cylinder across the bore,
// with a cross hole that lines up with the bore when it is open. Diameters in
// metres.
type Barrel struct {
	// Diameter is the barrel's own, > Bore and > Hole.
	Diameter float64
	// Bore is the diameter of the air passage, > 0.
	Bore float64
	// Hole is the diameter of the barrel's cross hole, > 0; most often the same
	// as the bore.
	Hole float64
}

// Validate reports the first field outside its range, as a *bound.Error:
// lengths above zero, the pivots at least 2 % further apart than the servo arm
// is long, travel up to 90° to either side. Whether the arms reach is found by
// New.
func (p Params) Validate() error {
	err := bound.Of("linkage").
		Positive("ServoArm", p.ServoArm, "m").
		Positive("CarbArm", p.CarbArm, "m").
		Field("Pivots", p.Pivots, 1.02*p.ServoArm, math.MaxFloat64, "m").
		Positive("Rod", p.Rod, "m").
		Field("ServoMid", p.ServoMid, -math.Pi, math.Pi, "rad").
		Field("|Travel|", math.Abs(p.Travel), math.SmallestNonzeroFloat64, math.Pi/2, "rad").
		Field("CarbOpen", p.CarbOpen, -math.Pi, math.Pi, "rad").
		Err()
	if err != nil {
		return err
	}
	return p.Barrel.Validate()
}

// Validate reports the first field outside its range, as a *bound.Error: bore
// and hole above zero, the barrel at least 2 % larger than both.
func (b Barrel) Validate() error {
	return bound.Of("linkage").
		Positive("Barrel.Bore", b.Bore, "m").
		Positive("Barrel.Hole", b.Hole, "m").
		Field("Barrel.Diameter", b.Diameter, 1.02*math.Max(b.Bore, b.Hole), math.MaxFloat64, "m").
		Err()
}
