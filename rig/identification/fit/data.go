package fit

import (
	"math"
	"math/cmplx"

	"govrig/rig/measure/response"
)

// Line is the law's response at one frequency.
type Line struct {
	// Omega is in rad/s; H from engine speed, rad/s, to share of throttle, the sign
	// turned.
	Omega float64
	H     complex128
	// Sigma is the standard error of its real and of its imaginary part.
	Sigma float64
}

// Set is what was measured at one operating point.
type Set struct {
	Name string
	// Share is that of the throttle, Turn the time of a turn of the crankshaft, s.
	Share, Turn float64
	Lines       []Line
}

// Output is what is known of the throttle line.
type Output struct {
	// Closed and Open are the ends of its pulse, and Frame the time from one pulse
	// to the next, s.
	Closed, Open, Frame float64
}

// leastError is the least relative error that a line is credited with: one very
// clean line must not decide the fit alone, and the law is a description of what
// is sampled and moves in steps.
const leastError = 0.005

// NewSet takes a response, throttle µs over engine rpm, at an engine speed, rpm, with
// a throttle pulse, µs, and takes out of it what the frames of the output add: the
// hold of a pulse until the next has ended, sinc(ωF/2)·e^{−jω(F/2+w)} (Åström and
// Wittenmark, Computer-Controlled Systems, from memory).
func NewSet(name string, points []response.Point, rpm, pulse float64, o Output) Set {
	const perSecond = math.Pi / 30 // rad/s for 1 rpm
	travel := o.Open - o.Closed
	s := Set{Name: name, Share: (1e-6*pulse - o.Closed) / travel, Turn: 60 / rpm}
	pooled := pooledOutput(points)
	for _, p := range points {
		half := p.Omega() * o.Frame / 2
		held := cmplx.Rect(math.Sin(half)/half, -p.Omega()*(o.Frame/2+1e-6*pulse))
		h := -p.H * complex(1e-6/perSecond/travel, 0) / held
		s.Lines = append(s.Lines, Line{Omega: p.Omega(), H: h, Sigma: cmplx.Abs(h) * math.Max(leastError, relative(p, pooled))})
	}
	return s
}

// pooledOutput is the error of the output's amplitude, root mean square over the
// lines. Steps of the output and noise of the measured speed spread nearly evenly.
func pooledOutput(points []response.Point) float64 {
	sum := 0.0
	for _, p := range points {
		sum += p.GainError * p.Output * p.GainError * p.Output
	}
	return math.Sqrt(sum / float64(max(1, len(points))))
}

// relative is the relative error of a line: its own, from a few periods and so itself
// uncertain, drawn halfway to that of all the lines (an estimate of a variance with
// few degrees of freedom is best shrunk towards the pool; Smyth, Statistical
// Applications in Genetics and Molecular Biology 3, 2004, from memory).
func relative(p response.Point, pooled float64) float64 {
	return math.Sqrt((p.GainError*p.GainError + pooled*pooled/(p.Output*p.Output)) / 2)
}
