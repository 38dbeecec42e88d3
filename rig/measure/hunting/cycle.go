package hunting

import "math"

const (
	mostHarmonics = 20
	leastHarmonic = 0.003 // of the fundamental, to count
)

// meanCycle is the swing of the mean cycle, peak to peak, harmonics included:
// the even moments folded by the phase that each cycle has, so that a phase
// that wanders does not blur it, and the Fourier series of what they make,
// without the harmonics that noise alone would show as well.
func (e *even) meanCycle(w wave) float64 {
	whole := e.wholeCycles(w)
	n := float64(whole)
	top := min(mostHarmonics, int(0.4/(e.width*w.frequency)))
	cosines, sines := make([]float64, top+1), make([]float64, top+1)
	power := 0.0
	for i, y := range e.y[:whole] {
		sin, cos := math.Sincos(e.phase(w, i))
		c, s := cos, sin
		for k := 1; k <= top; k++ {
			cosines[k] += 2 / n * y * c
			sines[k] += 2 / n * y * s
			c, s = c*cos-s*sin, s*cos+c*sin
		}
		power += y * y / n
	}
	for k := 1; k <= top; k++ {
		power -= (cosines[k]*cosines[k] + sines[k]*sines[k]) / 2
	}
	noise := 3 * math.Sqrt(2*math.Max(0, power)/n)
	for k := 1; k <= top; k++ {
		if a := math.Hypot(cosines[k], sines[k]); k > 1 && a < math.Max(noise, leastHarmonic*w.amplitude) {
			cosines[k], sines[k] = 0, 0
		}
		passed := e.passed(float64(k) * w.frequency)
		cosines[k], sines[k] = cosines[k]/passed, sines[k]/passed
	}
	return reach(cosines, sines)
}

// wholeCycles is how many moments make up whole cycles.
func (e *even) wholeCycles(w wave) int {
	start, n := e.phase(w, 0), len(e.y)
	cycles := math.Floor((e.phase(w, n-1) - start) / (2 * math.Pi))
	for n > 1 && e.phase(w, n-1)-start >= 2*math.Pi*cycles {
		n--
	}
	return n
}

// phase is the phase of the oscillation at moment i: that of the cycles, with
// straight lines from the middle of each to the next.
func (e *even) phase(w wave, i int) float64 {
	k := len(w.phases)
	at := math.Max(0, math.Min(float64(k-1), (float64(i)+0.5)*float64(k)/float64(len(e.y))-0.5))
	before := min(int(at), k-2)
	offset := w.phases[before] + (at-float64(before))*(w.phases[before+1]-w.phases[before])
	return 2*math.Pi*w.frequency*(e.start+float64(i)*e.width) + offset
}

// reach is from the lowest to the highest value of a Fourier series.
func reach(cosines, sines []float64) float64 {
	const points = 360
	low, high := math.Inf(1), math.Inf(-1)
	for p := range points {
		y := 0.0
		for k := 1; k < len(cosines); k++ {
			sin, cos := math.Sincos(2 * math.Pi * float64(k*p) / points)
			y += cosines[k]*cos + sines[k]*sin
		}
		low, high = math.Min(low, y), math.Max(high, y)
	}
	return high - low
}
