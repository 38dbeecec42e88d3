package sweep

import (
	"math"
	"math/cmplx"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/measure/loop"
	"govrig/rig/runlog"
)

// keptLoops are the points of a sweep as a record keeps them.
func keptLoops(points []SweepPoint) (all []runlog.Loop) {
	for i := range points {
		p := &points[i]
		l := runlog.Loop{
			Name: p.Name, Setting: p.Setting.Name, Load: p.Load,
			Crossover: hertz(p.Margins.Crossover), PhaseCrossover: hertz(p.Margins.PhaseCrossover),
			Governor: runlog.ResponseOf(p.Response, p.linear.EngineSpeed*execution.RPM, 1e6*p.linear.ThrottlePulse, p.Amplitudes.Kind),
		}
		for _, line := range p.Response {
			w := math.Max(p.Loop.Band.Min, math.Min(p.Loop.Band.Max, line.Omega()))
			value := p.Loop.Loop(w)
			l.Frequency = append(l.Frequency, line.Frequency)
			l.Gain = append(l.Gain, hundredth(loop.Decibels(cmplx.Abs(value))))
			l.Phase = append(l.Phase, hundredth(behind(cmplx.Phase(value)*execution.Degrees)))
		}
		all = append(all, l)
	}
	return all
}

// behind puts a phase, degrees, between −315° and 45°, where that of a governor
// with its machine lies.
func behind(phase float64) float64 {
	if phase > 45 {
		return phase - 360
	}
	return phase
}

func hertz(omega measure.Reading) float64 {
	if !omega.OK() {
		return 0
	}
	return omega.Value / (2 * math.Pi)
}

func hundredth(v float64) float64 { return math.Round(100*v) / 100 }
