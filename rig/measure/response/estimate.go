package response

import (
	"fmt"
	"math"
	"math/cmplx"

	"govrig/rig/measure"
)

// Point is the response at one injected line.
type Point struct {
	Frequency float64    // Hz
	H         complex128 // output over input
	// Coherence γ² between input and output over the periods, 0 to 1.
	Coherence float64
	// GainError is the relative standard error of |H|, from the scatter over
	// the periods at this line and its neighbours, as a few periods at one line
	// tell little; PhaseError the standard error of its phase in degrees.
	GainError, PhaseError float64
	// Input and Output are the amplitudes at the line, mean over the periods, and
	// Periods how many there were.
	Input, Output float64
	Periods       int
	// Usable is false when the line does not stand out of the scatter: γ²
	// below 0.8 or a relative error above 0.2.
	Usable bool
}

// Gain is |H|.
func (p Point) Gain() float64 { return cmplx.Abs(p.H) }

// Phase is the phase of H in degrees, −180 to 180.
func (p Point) Phase() float64 { return 180 / math.Pi * cmplx.Phase(p.H) }

// Omega is the frequency in rad/s.
func (p Point) Omega() float64 { return 2 * math.Pi * p.Frequency }

// Estimate reads the response from input to output at the injected lines. The
// first skip periods are left for the transient to die. It needs at least two
// whole periods after them; the scatter from period to period is the measure
// of confidence.
//
// Mean output over mean input, each synchronous with the injection, is not
// drawn aside by noise that goes round the closed loop, as the ratio of cross-
// to auto-spectrum of the two would be (Pintelon & Schoukens, System
// Identification, from memory).
func Estimate(input, output measure.Series, m Multisine, skip int) ([]Point, error) {
	periods, err := covered(m, skip, input, output)
	if err != nil {
		return nil, err
	}
	y, err := amplitudes(output, m, skip, periods)
	if err != nil {
		return nil, fmt.Errorf("output: %w", err)
	}
	return estimate(input, y, m, skip, periods)
}

// EstimateHeld is Estimate for an output that steps: each value holds from its
// moment until the next. Its lines are integrals over the very steps; samples of it
// would see a step late, by as much each time where steps and samples keep step.
func EstimateHeld(input, output measure.Series, m Multisine, skip int) ([]Point, error) {
	periods, err := covered(m, skip, input)
	if err != nil {
		return nil, err
	}
	y, err := heldAmplitudes(output, m, skip, periods)
	if err != nil {
		return nil, fmt.Errorf("output: %w", err)
	}
	return estimate(input, y, m, skip, periods)
}

// covered counts the whole periods that all series cover.
func covered(m Multisine, skip int, all ...measure.Series) (periods int, err error) {
	if err := m.Validate(); err != nil {
		return 0, err
	}
	periods = math.MaxInt
	for _, s := range all {
		if err := s.Validate(); err != nil {
			return 0, fmt.Errorf("%w: %w", ErrInput, err)
		}
		periods = min(periods, whole(s, m, skip))
	}
	if periods < 2 {
		return 0, fmt.Errorf("%w: fewer than two whole periods after the first %d", ErrInput, skip)
	}
	return periods, nil
}

// estimate joins the lines of the input to those of the output.
func estimate(input measure.Series, y [][]complex128, m Multisine, skip, periods int) ([]Point, error) {
	x, err := amplitudes(input, m, skip, periods)
	if err != nil {
		return nil, fmt.Errorf("input: %w", err)
	}
	points, scatter := make([]Point, len(m.Lines)), make([]float64, len(m.Lines))
	for k := range points {
		points[k], scatter[k] = estimateLine(x, y, k)
		points[k].Frequency = m.Frequency(k)
	}
	for k := range points {
		points[k].confide(pooled(scatter, k))
	}
	return points, nil
}

// pooled is the scatter about line k: half its own, the rest its neighbours'.
func pooled(scatter []float64, k int) float64 {
	sum, n := 2*scatter[k], 2.0
	for _, i := range []int{k - 1, k + 1} {
		if i >= 0 && i < len(scatter) {
			sum, n = sum+scatter[i], n+1
		}
	}
	return sum / n
}

// confide works out how sure a line is from the variance of its output over the
// periods, which gain and phase share evenly.
func (p *Point) confide(variance float64) {
	if p.H == 0 {
		return
	}
	p.GainError = math.Sqrt(variance/float64(p.Periods)/2) / p.Output
	p.PhaseError = 180 / math.Pi * p.GainError
	p.Usable = p.Coherence >= 0.8 && p.GainError <= 0.2
}

// whole counts the whole periods after the skipped ones that a series covers,
// granting the last one half an interval.
func whole(s measure.Series, m Multisine, skip int) int {
	if s.Len() < 2 || s.T[0] > m.Start+float64(skip)*m.Period+s.Interval() {
		return 0
	}
	end := s.T[s.Len()-1] + 1.5*s.Interval()
	return int(math.Floor((end-m.Start)/m.Period)) - skip
}

// estimateLine is a line's point, and the variance of its output over the periods.
func estimateLine(x, y [][]complex128, k int) (pt Point, variance float64) {
	n := float64(len(x))
	var mx, my, cross complex128
	var xx, yy float64
	for p := range x {
		mx += x[p][k] / complex(n, 0)
		my += y[p][k] / complex(n, 0)
		cross += y[p][k] * cmplx.Conj(x[p][k])
		xx += real(x[p][k] * cmplx.Conj(x[p][k]))
		yy += real(y[p][k] * cmplx.Conj(y[p][k]))
	}
	pt = Point{Input: cmplx.Abs(mx), Output: cmplx.Abs(my), Periods: len(x)}
	if mx == 0 || my == 0 {
		return pt, 0
	}
	pt.H = my / mx
	pt.Coherence = math.Min(1, real(cross*cmplx.Conj(cross))/(xx*yy))
	for p := range x {
		e := y[p][k] - pt.H*x[p][k]
		variance += real(e*cmplx.Conj(e)) / (n - 1)
	}
	return pt, variance
}

// Usable keeps the points that stand out of the scatter.
func Usable(points []Point) []Point {
	var out []Point
	for _, p := range points {
		if p.Usable {
			out = append(out, p)
		}
	}
	return out
}
