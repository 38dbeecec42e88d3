package response

import (
	"fmt"
	"math"
	"math/cmplx"
	"sort"

	"govrig/rig/measure/loop"
)

// Measured is a loop made of a measured governor and a known plant.
type Measured struct {
	// Loop is −H·Plant, with the governor interpolated between its lines (gain
	// in the logarithm, phase straight, both over the logarithm of ω).
	Loop loop.Response
	// Band is what the lines cover; outside it the loop is not known.
	Band loop.Band
	// Spread is the uncertainty of the governor at a frequency, from the
	// nearer of the lines beside it.
	Spread func(omega float64) loop.Spread
}

// WithPlant joins measured points from speed to throttle with the known plant
// from throttle to speed.
func WithPlant(points []Point, plant loop.Response) (Measured, error) {
	points = Usable(points)
	if len(points) < 2 {
		return Measured{}, fmt.Errorf("%w: %d usable lines are too few for a loop", ErrInput, len(points))
	}
	sort.Slice(points, func(i, j int) bool { return points[i].Frequency < points[j].Frequency })
	x, gain, phase := logs(points)
	at := func(w float64) (int, float64) {
		lw := math.Log(w)
		i := min(max(sort.SearchFloat64s(x, lw), 1), len(x)-1)
		return i, (lw - x[i-1]) / (x[i] - x[i-1])
	}
	return Measured{
		Band: loop.Band{Min: points[0].Omega(), Max: points[len(points)-1].Omega()},
		Loop: func(w float64) complex128 {
			i, r := at(w)
			g := math.Exp(gain[i-1] + r*(gain[i]-gain[i-1]))
			return cmplx.Rect(g, phase[i-1]+r*(phase[i]-phase[i-1])) * plant(w)
		},
		Spread: func(w float64) loop.Spread {
			i, r := at(w)
			if r < 0.5 {
				i--
			}
			return loop.Spread{Gain: points[i].GainError, Phase: points[i].PhaseError}
		},
	}, nil
}

// logs are ln ω, ln|H| and the unwrapped phase of −H.
func logs(points []Point) (x, gain, phase []float64) {
	for i, p := range points {
		x = append(x, math.Log(p.Omega()))
		gain = append(gain, math.Log(p.Gain()))
		a := cmplx.Phase(-p.H)
		if i > 0 {
			a += 2 * math.Pi * math.Round((phase[i-1]-a)/(2*math.Pi))
		}
		phase = append(phase, a)
	}
	return x, gain, phase
}
