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
	// the periods; PhaseError the standard error of its phase in degrees.
	GainError, PhaseError float64
	// Input and Output are the amplitudes at the line, mean over the periods.
	Input, Output float64
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
	if err := m.Validate(); err != nil {
		return nil, err
	}
	for _, s := range []measure.Series{input, output} {
		if err := s.Validate(); err != nil {
			return nil, fmt.Errorf("%w: %w", ErrInput, err)
		}
	}
	periods := min(whole(input, m, skip), whole(output, m, skip))
	if periods < 2 {
		return nil, fmt.Errorf("%w: fewer than two whole periods after the first %d", ErrInput, skip)
	}
	x, err := amplitudes(input, m, skip, periods)
	if err != nil {
		return nil, fmt.Errorf("input: %w", err)
	}
	y, err := amplitudes(output, m, skip, periods)
	if err != nil {
		return nil, fmt.Errorf("output: %w", err)
	}
	points := make([]Point, len(m.Lines))
	for k := range points {
		points[k] = estimateLine(x, y, k)
		points[k].Frequency = m.Frequency(k)
	}
	return points, nil
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

func estimateLine(x, y [][]complex128, k int) Point {
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
	pt := Point{Input: cmplx.Abs(mx), Output: cmplx.Abs(my)}
	if mx == 0 || my == 0 {
		return pt
	}
	pt.H = my / mx
	pt.Coherence = math.Min(1, real(cross*cmplx.Conj(cross))/(xx*yy))
	scatter := 0.0
	for p := range x {
		e := y[p][k] - pt.H*x[p][k]
		scatter += real(e * cmplx.Conj(e))
	}
	// The variance of H is shared evenly by gain and phase.
	pt.GainError = math.Sqrt(scatter/(n-1)/n/2) / pt.Output
	pt.PhaseError = 180 / math.Pi * pt.GainError
	pt.Usable = pt.Coherence >= 0.8 && pt.GainError <= 0.2
	return pt
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

// WithoutDelay takes a known dead time, s, out of a response: the rig's own
// delay between what it injects and what it reads.
func WithoutDelay(points []Point, seconds float64) []Point {
	out := append([]Point{}, points...)
	for i := range out {
		out[i].H *= cmplx.Exp(complex(0, out[i].Omega()*seconds))
	}
	return out
}
