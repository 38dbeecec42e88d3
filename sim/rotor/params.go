package rotor

import (
	"math"

	"govrig/sim/bound"
)

// Params describes a main rotor of untwisted blades with constant chord.
type Params struct {
	// Blades is the number of blades, 1 or more.
	Blades int
	// Radius from the shaft to the blade tip, m, above 0.
	Radius float64
	// Chord of a blade, m, above 0.
	Chord float64
	// LiftSlope is the section's lift-curve slope, 1/rad, above 0. About 5.7 is
	// usual for symmetrical sections (common practice, no source).
	LiftSlope float64
	// DragZero is the section's drag coefficient at zero lift, above 0.
	DragZero float64
	// DragLift is the growth of the drag coefficient with the square of the
	// mean lift coefficient, 0 or more. Zero keeps the profile drag constant.
	DragLift float64
	// InducedFactor is κ, actual over ideal induced power, 1 or more.
	InducedFactor float64
	// TipLoss is B, the share of the radius that carries lift, above 0, at most 1.
	TipLoss float64
	// TailShare is the power of the tail rotor as a share of the main rotor's,
	// 0 or more.
	TailShare float64
	// Inertia is the polar moment about the main shaft of all that always
	// turns with the head (blades, hub, tail rotor reflected through its
	// gears), kg·m², above 0. See RodInertia.
	Inertia float64
	// InflowMass is the apparent mass of air that the induced flow must
	// accelerate, as a multiple of Carpenter and Fridovich's 8/3·ρR³, above 0.
	InflowMass float64
}

// Validate reports the first field outside its range, as a *bound.Error. Fields
// must also fit each other: under profile drag alone, in standard air and from
// a tip speed of 100 m/s, the rotor loses half its speed in 0.5 s to 500 s, or
// else its inertia is not that of a rotor. From dΩ/dt = −kΩ², that time is
// 1/(kΩ) with k = ρN_bcR⁴C_d0/8J.
func (p Params) Validate() error {
	if err := p.validateFields(); err != nil {
		return err
	}
	const density, tip = 1.225, 100
	drag := density * float64(p.Blades) * p.Chord * math.Pow(p.Radius, 3) * p.DragZero / 8
	return bound.Of("rotor").
		Field("time to half speed", p.Inertia/(drag*tip), 0.5, 500, "s").
		Err()
}

func (p Params) validateFields() error {
	return bound.Of("rotor").
		Positive("Blades", float64(p.Blades), "").
		Positive("Radius", p.Radius, "m").
		Positive("Chord", p.Chord, "m").
		Positive("LiftSlope", p.LiftSlope, "1/rad").
		Positive("DragZero", p.DragZero, "").
		NotNegative("DragLift", p.DragLift, "").
		Field("InducedFactor", p.InducedFactor, 1, math.MaxFloat64, "").
		Field("TipLoss", p.TipLoss, math.SmallestNonzeroFloat64, 1, "").
		NotNegative("TailShare", p.TailShare, "").
		Positive("Inertia", p.Inertia, "kg·m²").
		Positive("InflowMass", p.InflowMass, "").
		Err()
}

// RodInertia is the polar moment, kg·m², of a number of blades taken as
// uniform rods of mass kg each from the shaft to radius m: I = n·m·R²/3
// (any handbook of mechanics).
func RodInertia(blades int, mass, radius float64) float64 {
	return float64(blades) * mass * radius * radius / 3
}
