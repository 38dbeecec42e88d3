package hunting

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/stat/distuv"

	"govrig/rig/measure/sinefit"
)

// wave is an oscillation heard in stretches of a few cycles each.
type wave struct {
	stretches   int
	coherence   float64 // |mean phasor|² over mean |phasor|²
	variation   float64 // of the amplitudes, about a steady growth; relative
	amplitude   float64 // median of the stretches
	scatter     float64 // standard error of that
	first, last float64 // mean amplitude of the first and last third
}

const (
	mostStretches   = 12
	fewestInOne     = 2.0 // cycles
	fewestStretches = 4
)

// listen fits the frequency to each stretch of a window.
func listen(e *even, f float64) wave {
	cycles := f * e.span()
	k := min(mostStretches, int(cycles/fewestInOne))
	w := wave{stretches: k, variation: math.Inf(1)}
	if k < fewestStretches {
		return w
	}
	var sum complex128
	var square float64
	logs := make([]float64, 0, k)
	for i := range k {
		from, to := i*len(e.y)/k, (i+1)*len(e.y)/k
		fit, err := sinefit.Three(e.series(from, to), f)
		if err != nil || fit.Amplitude() == 0 {
			return w
		}
		sum += complex(fit.A, -fit.B)
		square += fit.A*fit.A + fit.B*fit.B
		logs = append(logs, math.Log(fit.Amplitude()))
	}
	w.coherence = (real(sum)*real(sum) + imag(sum)*imag(sum)) / (float64(k) * square)
	w.steadiness(logs)
	return w
}

// steadiness reads how the amplitude goes from stretch to stretch.
func (w *wave) steadiness(logs []float64) {
	k := float64(len(logs))
	middle := (k - 1) / 2
	var sum, moment, square float64
	for i, l := range logs {
		x := float64(i) - middle
		sum += l
		moment += x * l
		square += x * x
	}
	mean, slope := sum/k, moment/square
	var about float64
	amplitudes := make([]float64, len(logs))
	for i, l := range logs {
		amplitudes[i] = math.Exp(l)
		d := math.Exp(l-mean-slope*(float64(i)-middle)) - 1
		about += d * d
	}
	w.variation = math.Sqrt(about / (k - 2))
	third := max(1, len(logs)/3)
	w.first, w.last = average(amplitudes[:third]), average(amplitudes[len(logs)-third:])
	w.amplitude = median(amplitudes)
	w.scatter = w.amplitude * w.variation / math.Sqrt(k)
}

// rayleigh is the relative variation of the amplitude of noise in a narrow
// band, √(4/π − 1).
var rayleigh = math.Sqrt(4/math.Pi - 1)

// chance that noise in a narrow band gives stretches as much in step, and of
// as steady a strength, as these. An oscillation may keep its phase: then the
// phasors of the stretches add up. Of n that are independent, the chance of a
// coherence c is (1−c)^(n−1); k neighbours that a lightly damped loop links
// count as about two thirds as many. Or it may wander in phase and yet keep
// its strength: then the variation is far below that of a Rayleigh
// distribution, judged as a χ² of k−2. The two are joined as Fisher joins
// independent tests: a product q of chances has itself the chance q(1−ln q).
func (w wave) chance() float64 {
	if w.stretches < fewestStretches || math.IsInf(w.variation, 1) {
		return 1
	}
	k := float64(w.stretches)
	inStep := math.Min(1, searched*math.Pow(1-w.coherence, 2*(k-1)/3))
	steady := distuv.ChiSquared{K: k - 2}.CDF((k - 2) * math.Pow(w.variation/rayleigh, 2))
	q := inStep * steady
	if q == 0 {
		return 0
	}
	return math.Min(1, q*(1-math.Log(q)))
}

// searched pays for the frequency having been chosen to fit the window.
const searched = 10.0

func average(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

func median(x []float64) float64 {
	s := append([]float64{}, x...)
	sort.Float64s(s)
	if n := len(s); n%2 == 0 {
		return (s[n/2-1] + s[n/2]) / 2
	}
	return s[len(s)/2]
}
