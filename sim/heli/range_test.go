package heli_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"govrig/sim"
	"govrig/sim/air"
	"govrig/sim/drive"
	"govrig/sim/engine"
	"govrig/sim/heli"
	"govrig/sim/rotor"
	"govrig/sim/servo"
)

// draw gives the edges and the inside of a range, small values as often as
// large ones.
func draw(t *rapid.T, name string, low, high float64) float64 {
	share := rapid.Float64Range(0, 1).Draw(t, name)
	if low > 0 {
		return min(max(low*math.Pow(high/low, share), low), high)
	}
	return low + share*(high-low)
}

func drawEngine(t *rapid.T) engine.Params {
	p := engine.Params{
		Displacement: draw(t, "Displacement", 0.5e-6, 200e-6),
		PeakPressure: draw(t, "PeakPressure", 50e3, 1.5e6), PeakSpeed: draw(t, "PeakSpeed", 100, 5000),
		SpeedSpan:  draw(t, "SpeedSpan", 100, 20e3),
		IntakeArea: draw(t, "IntakeArea", 1e-7, 1e-3), FlowCoefficient: draw(t, "FlowCoefficient", 0.05, 1),
		IdleSpeed: draw(t, "IdleSpeed", 50, 1000),
		Delay:     draw(t, "Delay", 0.1, 4*math.Pi), ChargeLag: draw(t, "ChargeLag", 0, 0.5),
		MixtureLag: draw(t, "MixtureLag", 0, 2), MixtureLoss: draw(t, "MixtureLoss", 0, 1),
		Variation: draw(t, "Variation", 0, 0.5), Misfire: draw(t, "Misfire", 0, 1),
	}
	part, last := draw(t, "friction", 0, 1.99)*p.PeakPressure/3, p.PeakSpeed+p.SpeedSpan
	p.FrictionConstant = min(part, 200e3)
	p.FrictionLinear = min(part/last, 500)
	p.FrictionSquare = min(part/(last*last), 1)
	p.StallSpeed = draw(t, "StallSpeed", 10, min(500, 0.95*p.IdleSpeed))
	torque := p.PeakPressure * p.Displacement / (2 * math.Pi)
	runUp := draw(t, "run-up", 0.0101, 29)
	p.Inertia = runUp * torque / p.PeakSpeed
	return p
}

func drawRotor(t *rapid.T) rotor.Params {
	p := rotor.Params{
		Blades: rapid.IntRange(1, 8).Draw(t, "Blades"),
		Radius: draw(t, "Radius", 0.1, 3), Chord: draw(t, "Chord", 0.005, 0.3),
		LiftSlope: draw(t, "LiftSlope", 3, 7), DragZero: draw(t, "DragZero", 0.003, 0.1),
		DragLift: draw(t, "DragLift", 0, 0.2), InducedFactor: draw(t, "InducedFactor", 1, 2),
		TipLoss: draw(t, "TipLoss", 0.8, 1), TailShare: draw(t, "TailShare", 0, 0.3),
		InflowMass: draw(t, "InflowMass", 0.1, 4),
	}
	drag := 1.225 * float64(p.Blades) * p.Chord * math.Pow(p.Radius, 3) * p.DragZero / 8
	half := draw(t, "half", 0.51, 499)
	p.Inertia = half * drag * 100
	return p
}

func drawMachine(t *rapid.T) heli.Params {
	p := heli.Params{
		Air: air.Params{
			Pressure: draw(t, "Pressure", 50e3, 110e3), Temperature: draw(t, "Temperature", 233.15, 323.15),
			Humidity: draw(t, "Humidity", 0, 1),
		},
		Servo: servo.Params{
			PulseLow: 1e-3, PulseHigh: 2e-3, Travel: draw(t, "Travel", 0.1, 3.15), Rate: draw(t, "Rate", 0.5, 100),
			DeadBand: draw(t, "DeadBand", 0, 50e-6), Resolution: draw(t, "Resolution", 0, 50e-6),
			Latency: draw(t, "Latency", 0, 0.1), Backlash: draw(t, "Backlash", 0, 0.2),
		},
		Engine: drawEngine(t),
		Drive: drive.Params{
			Clutch: drive.Clutch{
				EngagementSpeed: draw(t, "EngagementSpeed", 50, 3000), Capacity: draw(t, "Capacity", 0.01, 100),
				CapacitySpeed: 5000, BellInertia: draw(t, "BellInertia", 0, 0.05),
			},
		},
		Rotor:    drawRotor(t),
		Throttle: rapid.SliceOfN(rapid.Float64Range(0, 1), 2, 20).Draw(t, "Throttle"),
	}
	for range rapid.IntRange(1, 3).Draw(t, "stages") {
		p.Drive.Stages = append(p.Drive.Stages, drive.Stage{
			Driver: rapid.IntRange(4, 1000).Draw(t, "driver"), Driven: rapid.IntRange(4, 1000).Draw(t, "driven"),
			Efficiency: draw(t, "Efficiency", 0.5, 1), Inertia: draw(t, "Inertia", 0, 10),
		})
	}
	return p
}

// Any machine that Validate lets pass stays finite, whatever is asked of it.
func TestAnyValidMachineStaysFinite(t *testing.T) {
	valid := rapid.Custom(drawMachine).Filter(func(p heli.Params) bool { return p.Validate() == nil })
	rapid.Check(t, func(t *rapid.T) {
		p := valid.Draw(t, "machine")
		pl := heli.New(p, dt)
		for range 8 {
			run(pl, sim.Input{
				ThrottlePulse: rapid.Float64Range(1e-3, 2e-3).Draw(t, "pulse"),
				Collective:    rapid.Float64Range(-0.4, 0.4).Draw(t, "collective"),
				Climb:         rapid.Float64Range(-30, 30).Draw(t, "climb"),
			}, 0.5, dt)
			s := pl.State()
			sum := s.CrankAngle + s.EngineSpeed + s.HeadSpeed + s.Opening + s.EngineTorque + s.LoadTorque
			require.False(t, math.IsNaN(sum) || math.IsInf(sum, 0), "%+v", s)
			require.Less(t, s.EngineSpeed, 2*(p.Engine.PeakSpeed+p.Engine.SpeedSpan))
			require.Less(t, s.HeadSpeed*p.Rotor.Radius, 3e3, "tip speed")
		}
	})
}
