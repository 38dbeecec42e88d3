package rotor

import (
	"math"

	"govrig/sim/bound"
)

// Params describes a main rotor of untwisted blades with constant chord.
type Params struct {
	// Blades is the number of blades, 1 to 8.
	Blades int
	// Radius from the shaft to the blade tip, m, 0.1 to 3.
	Radius float64
	// Chord of a blade, m, 0.005 to 0.3.
	Chord float64
	// LiftSlope is the section's lift-curve slope, 1/rad, 3 to 7. About 5.7 is
	// usual for symmetrical sections (common practice, no source).
	LiftSlope float64
	// DragZero is the section's drag coefficient at zero lift, 0.003 to 0.1.
	DragZero float64
	// DragLift is the growth of the drag coefficient with the square of the
	// mean lift coefficient, 0 to 0.2. Zero keeps the profile drag constant.
	DragLift float64
	// InducedFactor is κ, actual over ideal induced power, 1 to 2.
	InducedFactor float64
	// TipLoss is B, the share of the radius that carries lift, 0.8 to 1.
	TipLoss float64
	// TailShare is the power of the tail rotor as a share of the main rotor's,
	// 0 to 0.3.
	TailShare float64
	// Inertia is the polar moment about the main shaft of all that always
	// turns with the head (blades, hub, tail rotor reflected through its
	// gears), kg·m², 1e-5 to 50. See RodInertia.
	Inertia float64
	// InflowMass is the apparent mass of air that the induced flow must
	// accelerate, as a multiple of Carpenter and Fridovich's 8/3·ρR³, 0.1 to 4.
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
		Field("Blades", float64(p.Blades), 1, 8, "").
		Field("Radius", p.Radius, 0.1, 3, "m").
		Field("Chord", p.Chord, 0.005, 0.3, "m").
		Field("LiftSlope", p.LiftSlope, 3, 7, "1/rad").
		Field("DragZero", p.DragZero, 0.003, 0.1, "").
		Field("DragLift", p.DragLift, 0, 0.2, "").
		Field("InducedFactor", p.InducedFactor, 1, 2, "").
		Field("TipLoss", p.TipLoss, 0.8, 1, "").
		Field("TailShare", p.TailShare, 0, 0.3, "").
		Field("Inertia", p.Inertia, 1e-5, 50, "kg·m²").
		Field("InflowMass", p.InflowMass, 0.1, 4, "").
		Err()
}

// RodInertia is the polar moment, kg·m², of a number of blades taken as
// uniform rods of mass kg each from the shaft to radius m: I = n·m·R²/3
// (any handbook of mechanics).
func RodInertia(blades int, mass, radius float64) float64 {
	return float64(blades) * mass * radius * radius / 3
}
