package hunting

import (
	"math"
	"math/cmplx"
	"sort"

	"gonum.org/v1/gonum/stat/distuv"

	"govrig/rig/measure/sinefit"
)

// wave is an oscillation heard cycle by cycle.
type wave struct {
	frequency   float64   // at which it was heard, Hz
	amplitudes  []float64 // peak of each cycle
	phases      []float64 // of each cycle against that frequency, unwrapped, rad
	coherence   float64   // |mean phasor|² over mean |phasor|²
	variation   float64   // of the amplitudes, about a steady growth; relative
	growth      float64   // from the amplitudes, 1/s
	growthError float64   // its standard error
	amplitude   float64   // median of the cycles
	scatter     float64   // standard error of that
	first, last float64   // mean amplitude of the first and last third
}

// fewestCycles is the least number of cycles that tell a steady swing from
// noise in a lightly damped loop. Of noise through a loop with a damping of
// 0.1, one stretch of five cycles in a thousand is as even as 4.5 %, of four
// as even as 1.8 % (see the calibration in the tests).
const fewestCycles = 5

// listen fits the frequency to each cycle of a window.
func listen(e *even, f float64) wave {
	k := int(math.Round(f*e.span() - 0.25))
	w := wave{frequency: f, coherence: 0, variation: math.Inf(1)}
	if k < fewestCycles-1 {
		return w
	}
	var sum complex128
	var square float64
	for i := range k {
		from, to := i*len(e.y)/k, (i+1)*len(e.y)/k
		fit, err := sinefit.Three(e.series(from, to), f)
		if err != nil || fit.Amplitude() == 0 {
			return wave{frequency: f, variation: math.Inf(1)}
		}
		z := complex(fit.A, -fit.B)
		sum += z
		square += fit.A*fit.A + fit.B*fit.B
		w.amplitudes = append(w.amplitudes, cmplx.Abs(z))
		w.phases = append(w.phases, next(w.phases, cmplx.Phase(z)))
	}
	w.coherence = (real(sum)*real(sum) + imag(sum)*imag(sum)) / (float64(k) * square)
	w.steadiness(e.span() / float64(k))
	return w
}

// next is a phase, unwrapped to lie within half a turn of the one before.
func next(before []float64, phase float64) float64 {
	if len(before) == 0 {
		return phase
	}
	last := before[len(before)-1]
	return phase - 2*math.Pi*math.Round((phase-last)/(2*math.Pi))
}

// steadiness reads how the amplitude goes from cycle to cycle, each so many
// seconds long.
func (w *wave) steadiness(cycle float64) {
	k := float64(len(w.amplitudes))
	middle := (k - 1) / 2
	var sum, moment, square float64
	for i, a := range w.amplitudes {
		x := float64(i) - middle
		sum += math.Log(a)
		moment += x * math.Log(a)
		square += x * x
	}
	mean, slope := sum/k, moment/square
	var about float64
	for i, a := range w.amplitudes {
		d := math.Exp(math.Log(a)-mean-slope*(float64(i)-middle)) - 1
		about += d * d
	}
	w.variation = math.Sqrt(about / (k - 2))
	w.growth = slope / cycle
	w.growthError = w.variation / math.Sqrt(square) * math.Sqrt(k/freedom(k)) / cycle
	third := max(1, len(w.amplitudes)/3)
	w.first, w.last = average(w.amplitudes[:third]), average(w.amplitudes[len(w.amplitudes)-third:])
	w.amplitude = median(w.amplitudes)
	w.scatter = w.amplitude * w.variation / math.Sqrt(freedom(k))
}

// freedom is how many of k cycles count as independent when a loop with a
// damping of 0.1 links them.
func freedom(k float64) float64 { return math.Min(k-2, 0.6*k+1.5) }

// usual is by how much, relative, k cycles of noise in such a loop vary: as
// those of a Rayleigh distribution, √(4/π − 1) = 0.52, and somewhat more about
// the mean of their logarithms; less for few cycles, which it links.
func usual(k float64) float64 { return 0.62 * (1 - 1.3/k) }

// chance that noise through a loop with a damping of 0.1 or more gives cycles
// as much in step, or of as steady a strength, as these.
//
// An oscillation may keep its phase: then the phasors of the cycles add up.
// Noise of n independent lines shows one with a share c of the power with a
// chance of about n(1−c)^(n−1) (Fisher's test of a periodogram, from memory);
// the line of such a loop is 0.63 of a line wide for each cycle, and counts
// for half as many because it is peaked. Or an oscillation may wander in phase
// and yet keep its strength: then the variation is far below that of noise,
// judged as a χ². The lesser chance counts twice, for two were tried. The
// constants are calibrated by random series, see the tests.
func (w wave) chance() float64 {
	k := float64(len(w.amplitudes))
	if k < fewestCycles-1 || math.IsInf(w.variation, 1) {
		return 1
	}
	inStep := k * math.Pow(1-math.Min(1, w.coherence), 0.315*k)
	n := freedom(k)
	steady := distuv.ChiSquared{K: n}.CDF(n * math.Pow(w.variation/usual(k), 2))
	return math.Min(1, 2*math.Min(inStep, steady))
}

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
