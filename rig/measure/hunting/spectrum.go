package hunting

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/dsp/window"

	"govrig/rig/measure/sinefit"
)

// line is the strongest line of a spectrum against what surrounds it.
type line struct {
	frequency float64 // Hz, interpolated between bins
	// chance that noise with the level of the surroundings shows a line as
	// strong anywhere in the band.
	chance float64
}

// strongest finds the line that stands highest above its surroundings between
// two frequencies. ok is false when the band holds too few bins.
//
// A bin of the spectrum of noise is exponentially distributed about its mean,
// and its median is ln 2 of the mean (any text on spectral estimation); so the
// chance of a ratio r to the mean in one of n bins is n·e^{−r}.
func strongest(e *even, from, to float64) (l line, ok bool) {
	power := e.spectrum()
	resolution := 1 / e.span()
	low, high := int(math.Ceil(from/resolution)), int(math.Floor(to/resolution))
	high = min(high, len(power)-2)
	best, ratio := 0, 0.0
	rough, until := 0.0, 0
	for k := max(low, 2); k <= high; k++ {
		if k >= until {
			rough, until = surroundings(power, k), k+1+k/4
		}
		if power[k] < power[k-1] || power[k] < power[k+1] || power[k] < rough*ratio/2 {
			continue
		}
		if r := power[k] / surroundings(power, k); r > ratio {
			best, ratio = k, r
		}
	}
	if best == 0 {
		return line{}, false
	}
	l.frequency = (float64(best) + offset(power, best)) * resolution
	l.chance = math.Min(1, float64(high-low+1)*math.Exp(-ratio))
	return l, true
}

// spectrum is the power at each bin under a Hann window, freed of what the
// smoothing took, as far up as that can be told.
func (e *even) spectrum() []float64 {
	w := window.Hann(append([]float64{}, e.y...))
	c := fourier.NewFFT(len(w)).Coefficients(nil, w)
	power := make([]float64, 1, len(c))
	for k := 1; k < len(c) && float64(k) < 0.45*float64(len(w)); k++ {
		p := e.passed(float64(k) / e.span())
		power = append(power, (real(c[k])*real(c[k])+imag(c[k])*imag(c[k]))/(p*p))
	}
	return power
}

// mostNear is how many bins make a good enough median.
const mostNear = 128

// surroundings is the mean power of noise near bin k, from the median over
// half to twice its frequency without the line itself.
func surroundings(power []float64, k int) float64 {
	from, to := max(1, min(k/2, k-8)), min(len(power)-1, max(2*k, k+8))
	step := 1 + (to-from)/mostNear
	near := make([]float64, 0, mostNear+1)
	for j := from; j <= to; j += step {
		if j < k-2 || j > k+2 {
			near = append(near, power[j])
		}
	}
	if len(near) == 0 {
		return math.Inf(1)
	}
	sort.Float64s(near)
	return math.Max(near[len(near)/2]/math.Ln2, math.SmallestNonzeroFloat64)
}

// offset is where between bins the peak lies, from a parabola through the
// logarithms of three bins.
func offset(power []float64, k int) float64 {
	a, b, c := math.Log(power[k-1]), math.Log(power[k]), math.Log(power[k+1])
	bend := a - 2*b + c
	if !(bend < 0) || math.IsInf(bend, 0) {
		return 0
	}
	return math.Max(-0.5, math.Min(0.5, (a-c)/(2*bend)))
}

// slow reports whether the speed swings to and fro slower than a frequency, by
// more than a share of its level: two cycles or more that one sine describes
// for the most part. It gives its frequency, Hz.
func (e *even) slow(below, share float64) (frequency float64, ok bool) {
	whole := e.series(0, len(e.y))
	power := 0.0
	for _, y := range e.y {
		power += y * y / float64(len(e.y))
	}
	const least, tries = 0.7, 12
	from := 2 / e.span()
	for i := range tries {
		f := from + (below-from)*float64(i)/tries
		fit, err := sinefit.Three(whole, f)
		if err == nil && fit.Amplitude() > share*math.Abs(e.level) && fit.Residual*fit.Residual < (1-least)*power {
			return f, true
		}
	}
	return 0, false
}
