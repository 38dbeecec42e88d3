package response

import (
	"fmt"
	"math"
	"math/cmplx"
	"sort"

	"gonum.org/v1/gonum/interp"

	"govrig/rig/measure/loop"
)

// Measured is a loop made of a measured governor and a known plant.
type Measured struct {
	// Loop is −H·Plant, with the governor's ln|H| and phase interpolated between
	// its lines over ln ω, by Akima's piecewise cubics (J. ACM 17, 1970, from
	// memory): a dead time bends the phase, and a straight line between two lines
	// of a third of an octave would be off by a degree.
	Loop loop.Response
	// Band is what the lines cover; outside it the loop is not known.
	Band loop.Band
	// Spread is the uncertainty of the governor at a frequency, from the lines
	// on either side of it.
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
	gainAt, phaseAt, err := curves(x, gain, phase)
	if err != nil {
		return Measured{}, fmt.Errorf("%w: %w", ErrInput, err)
	}
	return Measured{
		Band: loop.Band{Min: points[0].Omega(), Max: points[len(points)-1].Omega()},
		Loop: func(w float64) complex128 {
			lw := math.Log(w)
			return cmplx.Rect(math.Exp(gainAt.Predict(lw)), phaseAt.Predict(lw)) * plant(w)
		},
		Spread: func(w float64) loop.Spread {
			lw := math.Log(w)
			i := min(max(sort.SearchFloat64s(x, lw), 1), len(x)-1)
			r := min(max((lw-x[i-1])/(x[i]-x[i-1]), 0), 1)
			between := func(a, b float64) float64 { return a + r*(b-a) }
			return loop.Spread{
				Gain:  between(points[i-1].GainError, points[i].GainError),
				Phase: between(points[i-1].PhaseError, points[i].PhaseError),
			}
		},
	}, nil
}

// curves go through the values; two of them are joined by a straight line.
func curves(x, gain, phase []float64) (gainAt, phaseAt interp.Predictor, err error) {
	var a, b interp.FittablePredictor = &interp.AkimaSpline{}, &interp.AkimaSpline{}
	if len(x) == 2 {
		a, b = &interp.PiecewiseLinear{}, &interp.PiecewiseLinear{}
	}
	if err := a.Fit(x, gain); err != nil {
		return nil, nil, err
	}
	return a, b, b.Fit(x, phase)
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

// Join adds lines to others, in the order of their frequencies. A line that is in
// both becomes one, of the mean of the two by the power that was put in.
func Join(points, more []Point) []Point {
	out := append([]Point{}, points...)
	for _, b := range more {
		i := sort.Search(len(out), func(i int) bool { return out[i].Frequency >= b.Frequency })
		switch {
		case i == len(out) || out[i].Frequency > b.Frequency:
			out = append(out[:i], append([]Point{b}, out[i:]...)...)
		default:
			out[i] = out[i].and(b)
		}
	}
	return out
}

// and is the mean of two measurements of a line, each weighed by its power: noise
// is alike in both.
func (p Point) and(q Point) Point {
	power := func(p Point) float64 { return p.Input * p.Input * float64(p.Periods) }
	share := power(p) / (power(p) + power(q))
	mean := func(a, b float64) float64 { return math.Hypot(share*a, (1-share)*b) }
	p.H = complex(share, 0)*p.H + complex(1-share, 0)*q.H
	p.GainError, p.PhaseError = mean(p.GainError, q.GainError), mean(p.PhaseError, q.PhaseError)
	p.Coherence = share*p.Coherence + (1-share)*q.Coherence
	p.Periods += q.Periods
	p.Usable = p.Usable || q.Usable
	return p
}
