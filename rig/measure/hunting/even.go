package hunting

import (
	"math"

	"govrig/rig/measure"
)

// even is a series smoothed onto even moments, without its straight line.
type even struct {
	start float64 // first moment, s
	width float64 // between moments, s
	y     []float64
	level float64 // mean of the series
}

// mostRate is how finely a window is looked at: oscillations of up to a few
// tens of hertz need no more.
const mostRate = 100.0 // Hz

// smoothed brings a series onto even moments. Each is a mean of the samples
// within two widths, weighed by a cubic B-spline, whose response sinc⁴ keeps
// what is faster (the ripple of each revolution) from being taken for
// something slow. A moment without samples is filled from its neighbours.
func smoothed(s measure.Series) even {
	interval := s.Interval()
	width := interval * math.Max(1, math.Round(1/(mostRate*interval)))
	n := int(math.Floor(s.Span()/width)) - 3
	if n < 1 {
		return even{width: width}
	}
	e := even{start: s.T[0] + 2*width, width: width, y: make([]float64, n)}
	weight := make([]float64, n)
	base := s.Y[0]
	for i, t := range s.T {
		x := (t - e.start) / width
		for b := max(0, int(math.Ceil(x-2))); b < n && float64(b) < x+2; b++ {
			k := spline(math.Abs(x - float64(b)))
			e.y[b] += k * (s.Y[i] - base)
			weight[b] += k
		}
	}
	for b := range e.y {
		e.y[b] = base + e.y[b]/weight[b]
	}
	fill(e.y, weight)
	e.detrend()
	return e
}

// spline is the cubic B-spline at a distance of x widths.
func spline(x float64) float64 {
	if x >= 2 {
		return 0
	}
	outer := 2 - x
	if x >= 1 {
		return outer * outer * outer / 6
	}
	inner := 1 - x
	return (outer*outer*outer - 4*inner*inner*inner) / 6
}

// fill draws a straight line over moments of no weight.
func fill(y, weight []float64) {
	const least = 0.05 // of a sample
	last := -1
	for b := range y {
		if weight[b] < least {
			continue
		}
		for gap := last + 1; gap < b; gap++ {
			y[gap] = y[b]
			if last >= 0 {
				y[gap] = y[last] + (y[b]-y[last])*float64(gap-last)/float64(b-last)
			}
		}
		last = b
	}
	for gap := last + 1; gap < len(y) && last >= 0; gap++ {
		y[gap] = y[last]
	}
}

// detrend takes out the best straight line.
func (e *even) detrend() {
	n := float64(len(e.y))
	middle := (n - 1) / 2
	var sum, moment, square float64
	for i, y := range e.y {
		x := float64(i) - middle
		sum += y
		moment += x * y
		square += x * x
	}
	e.level = sum / n
	for i := range e.y {
		e.y[i] -= e.level
		if square > 0 {
			e.y[i] -= moment / square * (float64(i) - middle)
		}
	}
}

func (e *even) span() float64 { return float64(len(e.y)) * e.width }

// series gives the moments from..to back as a series.
func (e *even) series(from, to int) measure.Series {
	s := measure.Series{T: make([]float64, to-from), Y: e.y[from:to]}
	for i := range s.T {
		s.T[i] = e.start + float64(from+i)*e.width
	}
	return s
}

// passed is how much of a sine of frequency f the smoothing leaves,
// sinc⁴(f·width).
func (e *even) passed(f float64) float64 {
	x := math.Pi * f * e.width
	return math.Pow(math.Sin(x)/x, 4)
}
