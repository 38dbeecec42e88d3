package heli

import (
	"math"

	"govrig/sim/air"
	"govrig/sim/drive"
	"govrig/sim/engine"
	"govrig/sim/linkage"
	"govrig/sim/rotor"
	"govrig/sim/servo"
)

// Medium is a machine of our own invention to try things on: 15 cm³, 9 : 78
// teeth, two blades of 0.69 m, about 5 kg, 1 660 rpm on the head. Inertia of
// crank and fan, friction and lags are estimates.
func Medium() Params {
	const rpm = math.Pi / 30
	return Params{
		Air: air.Standard(),
		Servo: servo.Params{
			PulseLow: 1.1e-3, PulseHigh: 1.9e-3, Travel: math.Pi / 2,
			Rate: 10.5, DeadBand: 2e-6, Resolution: 1e-6, Latency: 3e-3, Backlash: 0.005,
		},
		Engine: engine.Params{
			Displacement: 15e-6, Inertia: 1.5e-4,
			PeakPressure: 420e3, PeakSpeed: 12500 * rpm, SpeedSpan: 1600,
			FrictionConstant: 25e3, FrictionLinear: 30, FrictionSquare: 0.01,
			IntakeArea: math.Pi / 4 * 8.5e-3 * 8.5e-3, FlowCoefficient: 0.4,
			IdleSpeed: 2600 * rpm, StallSpeed: 1200 * rpm,
			Delay: 2 * math.Pi, ChargeLag: 0.02, MixtureLag: 0.1, MixtureLoss: 0.3,
		},
		Drive: drive.Params{
			Clutch: drive.Clutch{
				EngagementSpeed: 5000 * rpm, Capacity: 2.5, CapacitySpeed: 14000 * rpm, BellInertia: 1e-5,
			},
			Stages: []drive.Stage{{Driver: 9, Driven: 78, Efficiency: 0.95, Inertia: 3e-4}},
		},
		Rotor: rotor.Params{
			Blades: 2, Radius: 0.69, Chord: 0.055, LiftSlope: 5.7, DragZero: 0.014, DragLift: 0.02,
			InducedFactor: 1.2, TipLoss: 0.97, TailShare: 0.12,
			Inertia: rotor.RodInertia(2, 0.160, 0.69) + 0.003, InflowMass: 1,
		},
		Throttle: roundBarrel(65),
	}
}

// roundBarrel is a Throttle table of n values, two or more, for a barrel
// carburettor whose bore and barrel hole are round and equal and slide apart
// in proportion to the servo's travel: shut at PulseLow, fully open at
// PulseHigh.
func roundBarrel(n int) []float64 {
	table := make([]float64, n)
	for i := range table {
		apart := 2 * (1 - float64(i)/float64(n-1))
		table[i] = min(1, linkage.Lens(1, 1, apart)/math.Pi)
	}
	return table
}
