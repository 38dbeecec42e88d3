package flight

import (
	"fmt"
	"math"

	"govrig/rig/advise/predict"
	"govrig/sim/machine"
	"govrig/sim/rotor"
	"govrig/sim/unit"
)

// Value is a value of the machine file that would make bench and flight agree.
// Means says what the change is: "more inertia".
type Value struct{ Key, Is, Would, Means string }

// change is what is done to the machine: factors on the step of the load, on the
// inertia of the rotor and on the engine's pressure.
type change struct{ load, inertia, engine float64 }

// played is depth, %, and first slope, %/s, of the file's load step with a change.
func played(m *machine.Machine, s machine.SpeedSetting, c change) (depth, slope float64, err error) {
	p := m.HeliParams()
	p.Rotor.Inertia *= c.inertia
	p.Engine.PeakPressure *= c.engine
	other := *m
	other.LoadStep.CollectiveHigh = m.LoadStep.CollectiveLow + unit.Angle(float64(m.LoadStep.CollectiveHigh-m.LoadStep.CollectiveLow)*c.load)
	y, err := predict.Play(&other, p, s)
	if err != nil {
		return 0, 0, err
	}
	side := Read(y, predict.LoadOn, s)
	if !side.Deviation.OK() || !side.Slope.OK() {
		return 0, 0, fmt.Errorf("the simulated step shows no dip")
	}
	return side.Deviation.Value, side.Slope.Value, nil
}

const (
	rpm     = 30 / math.Pi  // from rad/s
	degrees = 180 / math.Pi // from rad
)

// band is the tolerance band of ISO 8528-5 for class G2, % (from memory).
const band = 2.0

const (
	mostRounds = 12
	exact      = 0.004 // of the factors
	tried      = 1.05  // factor by which a value is tried
	farthest   = 2.5   // factor beyond which a value is no answer
)

// agree finds the two factors under which depth and slope change by the wanted
// factors: Newton's method on their logarithms.
func agree(m *machine.Machine, s machine.SpeedSetting, depth, slope float64, of func(a, b float64) change) (change, bool) {
	baseDepth, baseSlope, err := played(m, s, change{1, 1, 1})
	if err != nil {
		return change{}, false
	}
	miss := func(a, b float64) (x, y float64, ok bool) {
		d, v, err := played(m, s, of(math.Exp(a), math.Exp(b)))
		if err != nil || d/baseDepth <= 0 || v/baseSlope <= 0 {
			return 0, 0, false
		}
		x, y = math.Log(d/baseDepth/depth), math.Log(v/baseSlope/slope)
		return x, y, !math.IsNaN(x+y) && !math.IsInf(x+y, 0)
	}
	a, b, h := 0.0, 0.0, math.Log(tried)
	for range mostRounds {
		x, y, ok := miss(a, b)
		if !ok || max(math.Abs(a), math.Abs(b)) > math.Log(farthest) {
			return change{}, false
		}
		if math.Abs(x) < exact && math.Abs(y) < exact {
			return of(math.Exp(a), math.Exp(b)), true
		}
		xa, ya, ok1 := miss(a+h, b)
		xb, yb, ok2 := miss(a, b+h)
		det := ((xa-x)*(yb-y) - (xb-x)*(ya-y)) / (h * h)
		if !ok1 || !ok2 || math.Abs(det) < 1e-3 {
			return change{}, false
		}
		a -= clip(((yb-y)*x - (xb-x)*y) / h / det)
		b -= clip(((xa-x)*y - (ya-y)*x) / h / det)
	}
	return change{}, false
}

// clip keeps a step of the search to a factor of one and a half.
func clip(step float64) float64 { return max(-0.4, min(0.4, step)) }

// values are the keys of the machine file that a change stands for.
func values(m *machine.Machine, c change) (out []Value) {
	add := func(less, more, key, format string, is, would float64) {
		means := less
		if would > is {
			means = more
		}
		if math.Abs(would/is-1) > told {
			out = append(out, Value{key, fmt.Sprintf(format, is), fmt.Sprintf(format, would), means})
		}
	}
	low, high := float64(m.LoadStep.CollectiveLow), float64(m.LoadStep.CollectiveHigh)
	add("a lighter load", "a heavier load", "load_step.collective_high", "%.2g°", high*degrees, (low+(high-low)*c.load)*degrees)
	mass := float64(m.Main.BladeMass)
	blades := rotor.RodInertia(m.Main.Blades, mass, float64(m.Main.Radius))
	more := (c.inertia - 1) * m.HeliParams().Rotor.Inertia
	add("less inertia", "more inertia", "main_rotor.blade_mass", "%.3g g", 1e3*mass, 1e3*mass*(1+more/blades))
	add("a weaker engine", "a stronger engine", "engine.mean_effective_pressure", "%.3g kPa", 1e-3*float64(m.Engine.PeakPressure), 1e-3*float64(m.Engine.PeakPressure)*c.engine)
	return out
}

// told is the change of a value that is worth telling.
const told = 0.03
