package step

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"govrig/rig/measure"
)

// Drift is how a speed still moves over a window.
type Drift struct {
	// Rate is the mean slope, per second in the unit of the series, and
	// RateError its standard error, from the scatter of the means of blocks
	// about a parabola and from how often that changes its sign.
	Rate, RateError float64
	// Left is how far the speed has still to go after the window, with its
	// sign: what an exponential approach with the same means over the three
	// thirds of the window has left.
	Left float64
	// Span is the length of the window, s.
	Span float64
}

const (
	// seen is how many standard errors a rate must exceed to be one; the
	// scatter of so few blocks has wide tails.
	seen = 6
	// blocks is how many parts a window is taken in: noise that is faster than
	// one of them averages out.
	blocks = 15
)

// longest is the longest approach, in spans, that a falling slope may tell of.
const longest = 4

// DriftOf reads the drift of a window of at least eight samples.
func DriftOf(window measure.Series) Drift {
	n, span := window.Len(), window.Span()
	d := Drift{Span: span}
	if n < fewest || !(span > 0) {
		d.RateError = math.Inf(1)
		return d
	}
	x, y := blockMeans(window)
	slope, rms, free := parabola(x, y)
	d.Rate = slope / span
	d.RateError = rms * math.Sqrt(12/free) / span
	d.Left = left(y)
	return d
}

// left is how far values that approach a level exponentially have still to go,
// from the means of their thirds: each step from third to third is q times the
// one before, q = e^(−third/time constant), and from the last mean to the end
// the exponential says the rest. A step that does not fall is taken for an
// approach four times as long as the window, and one that turned back for a
// quick one.
func left(y []float64) float64 {
	third := len(y) / 3
	m := [3]float64{average(y[:third]), average(y[third : len(y)-third]), average(y[len(y)-third:])}
	if m[2] == m[1] {
		return 0
	}
	q := (m[2] - m[1]) / (m[1] - m[0])
	q = math.Max(math.Exp(-10), math.Min(q, math.Exp(-1.0/(3*longest))))
	return (m[2] - m[1]) * q * q * math.Log(1/q) / ((1 - q) * (1 - q))
}

func average(y []float64) float64 { return floats.Sum(y) / float64(len(y)) }

// Seen reports whether there is a drift, and not scatter alone.
func (d Drift) Seen() bool { return math.Abs(d.Rate) > seen*d.RateError }

// Ahead is how far the level that the speed drifts to lies from its mean over
// the window, with its sign.
func (d Drift) Ahead() float64 { return d.Rate*d.Span/2 + d.Left }

// Settled reports whether the mean over the window is the level that the speed
// goes to, give or take most, in the unit of the series.
func (d Drift) Settled(most float64) bool { return !d.Seen() || math.Abs(d.Ahead()) <= most }

// parabola fits level + slope·x + bend·(x² − 1/12), x from −1/2 to 1/2, to the
// means of blocks, by least squares. free is how many independent values the
// scatter holds: one more than the changes of its sign.
func parabola(x, y []float64) (slope, rms, free float64) {
	n := len(x)
	a, v := mat.NewDense(n, 3, nil), mat.NewVecDense(n, y)
	for i := range n {
		a.SetRow(i, []float64{1, x[i], x[i]*x[i] - 1.0/12})
	}
	var fit, rest mat.VecDense
	if fit.SolveVec(a, v) != nil {
		return 0, math.Inf(1), 1
	}
	rest.MulVec(a, &fit)
	rest.SubVec(v, &rest)
	free = 1
	for i := range n {
		r := rest.AtVec(i)
		rms += r * r / float64(n-3)
		if i > 0 && r*rest.AtVec(i-1) < 0 {
			free++
		}
	}
	return fit.AtVec(1), math.Sqrt(rms), free
}

// blockMeans are the means of blocks of equal count, times as shares of the
// window from its middle, values from the first.
func blockMeans(window measure.Series) (x, y []float64) {
	n := window.Len()
	middle, span := (window.T[0]+window.T[n-1])/2, window.Span()
	parts := min(blocks, n)
	x, y = make([]float64, parts), make([]float64, parts)
	for b := range parts {
		from, to := b*n/parts, (b+1)*n/parts
		for i := from; i < to; i++ {
			x[b] += (window.T[i] - middle) / span / float64(to-from)
			y[b] += (window.Y[i] - window.Y[0]) / float64(to-from)
		}
	}
	return x, y
}
