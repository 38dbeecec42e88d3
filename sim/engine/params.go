package engine

import (
	"math"

	"govrig/sim/air"
	"govrig/sim/bound"
)

// Params describes a single-cylinder two-stroke with crankcase scavenging and
// a barrel carburettor.
type Params struct {
	// Displacement is the swept volume, m³, above 0.
	Displacement float64
	// Inertia about the crankshaft of crank, fan and clutch shoes, kg·m²,
	// above 0. No published value for model engines is known to us:
	// estimate it from mass and radius.
	Inertia float64
	// PeakPressure is the greatest brake mean effective pressure at full
	// throttle in standard air at sea level, Pa, above 0.
	PeakPressure float64
	// PeakSpeed is the speed of PeakPressure, rad/s, above 0.
	PeakSpeed float64
	// SpeedSpan is how far from PeakSpeed the parabola of mean effective
	// pressure falls to zero, rad/s, above 0.
	SpeedSpan float64
	// FrictionConstant, FrictionLinear and FrictionSquare make the friction
	// mean effective pressure c0 + c1·ω + c2·ω², in Pa, Pa·s/rad and
	// Pa·s²/rad², 0 or more.
	FrictionConstant, FrictionLinear, FrictionSquare float64
	// IntakeArea is the carburettor's full open area, m², above 0.
	IntakeArea float64
	// FlowCoefficient turns IntakeArea into its effective mean: discharge
	// coefficient times the share of a revolution in which the crankcase
	// draws, above 0, at most 1.
	FlowCoefficient float64
	// IdleSpeed is what the idle stop is set to hold with the clutch free,
	// rad/s, 0 or more. Zero sets no stop: the barrel shuts, and the
	// engine dies.
	IdleSpeed float64
	// StallSpeed is the speed below which the engine no longer fires, rad/s,
	// above 0, at most 0.95 of IdleSpeed where that is set.
	StallSpeed float64
	// Delay is the crank angle from induction to torque, rad, 0 or 0.1 to 4π. One
	// revolution, 2π, fits crankcase scavenging (reasoned, no source).
	Delay float64
	// ChargeLag is the time constant with which the charge follows the
	// opening, s, 0 or more.
	ChargeLag float64
	// MixtureLag is the time constant with which the fuel follows the air, s,
	// 0 or more. Zero keeps the mixture right at all times.
	MixtureLag float64
	// MixtureLoss is the share of the indicated pressure that is lost per
	// square of the mixture's relative error, 0 to 1.
	MixtureLoss float64
	// Variation is the coefficient of variation of the indicated pressure
	// from cycle to cycle, 0 or more. Zero is off.
	Variation float64
	// Misfire is the share of cycles that do not burn, 0 to 1. Zero is off.
	Misfire float64
	// Seed starts the sequence of variation and misfire.
	Seed uint64
}

// Validate reports the first field outside its range, as a *bound.Error. Fields
// must also fit each other: friction at PeakSpeed + SpeedSpan, where the engine
// runs away to, is at most twice PeakPressure; the engine alone needs 10 ms to
// 30 s of its peak torque to reach PeakSpeed, or else its inertia is not that of
// an engine; and the idle stop leaves open at most half of the intake.
func (p Params) Validate() error {
	if err := p.validateFields(); err != nil {
		return err
	}
	last := p.PeakSpeed + p.SpeedSpan
	friction := p.FrictionConstant + last*(p.FrictionLinear+last*p.FrictionSquare)
	torque := p.PeakPressure * p.Displacement / (2 * math.Pi)
	steady := newCurve(p, air.Standard().State())
	return bound.Of("engine").
		Field("friction pressure at PeakSpeed + SpeedSpan", friction, 0, 2*p.PeakPressure, "Pa").
		Field("run-up time to PeakSpeed", p.Inertia*p.PeakSpeed/torque, 0.01, 30, "s").
		Field("share of the intake open at IdleSpeed", steady.stop, 0, 0.5, "").
		Err()
}

func (p Params) validateFields() error {
	b := bound.Of("engine").
		Positive("Displacement", p.Displacement, "m³").
		Positive("Inertia", p.Inertia, "kg·m²").
		Positive("PeakPressure", p.PeakPressure, "Pa").
		Positive("PeakSpeed", p.PeakSpeed, "rad/s").
		Positive("SpeedSpan", p.SpeedSpan, "rad/s").
		NotNegative("FrictionConstant", p.FrictionConstant, "Pa").
		NotNegative("FrictionLinear", p.FrictionLinear, "Pa·s/rad").
		NotNegative("FrictionSquare", p.FrictionSquare, "Pa·s²/rad²").
		Positive("IntakeArea", p.IntakeArea, "m²").
		Field("FlowCoefficient", p.FlowCoefficient, math.SmallestNonzeroFloat64, 1, "").
		NotNegative("IdleSpeed", p.IdleSpeed, "rad/s").
		Positive("StallSpeed", p.StallSpeed, "rad/s")
	if p.IdleSpeed != 0 {
		b.Field("StallSpeed", p.StallSpeed, 0, 0.95*p.IdleSpeed, "rad/s")
	}
	if p.Delay != 0 {
		b.Field("Delay", p.Delay, 0.1, 4*math.Pi, "rad")
	}
	return b.NotNegative("ChargeLag", p.ChargeLag, "s").
		NotNegative("MixtureLag", p.MixtureLag, "s").
		Field("MixtureLoss", p.MixtureLoss, 0, 1, "").
		NotNegative("Variation", p.Variation, "").
		Field("Misfire", p.Misfire, 0, 1, "").
		Err()
}
