package pulse

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
)

// distinct are the widths without repeats, in order; of very many, some taken
// without any rhythm that could pass for a step.
func distinct(widths []float64, resolution float64) (out []float64) {
	sorted := slices.Sorted(slices.Values(widths))
	for i, w := range sorted {
		if i == 0 || w-out[len(out)-1] > resolution/2 {
			out = append(out, w)
		}
	}
	if n := len(out); n > mostWidths {
		some := make([]float64, mostWidths)
		for i := range some {
			_, part := math.Modf(float64(i) * math.Phi)
			some[i] = out[int(part*float64(n))]
		}
		return some
	}
	return out
}

// agreement is the length of the mean phasor of widths at a rate, 1/step.
func agreement(widths []float64, rate float64) float64 {
	var x, y float64
	for _, w := range widths {
		sin, cos := math.Sincos(2 * math.Pi * rate * (w - widths[0]))
		x, y = x+cos, y+sin
	}
	return math.Hypot(x, y) / float64(len(widths))
}

// sharpest is the rate near one given at which widths agree best.
func sharpest(widths []float64, rate, width float64) float64 {
	best, most := rate, 0.0
	for i := range 80 {
		at := rate + width*float64(i)/20
		if r := agreement(widths, at); r > most {
			best, most = at, r
		}
	}
	return best
}

// finer is the whole multiple of a rate, up to the highest, at which widths agree
// clearly better; the rate itself where there is none, as on a true staircase: its
// multiples agree no better, and what scatters takes more from them. Widths most of
// which happen to stand on every second or third level agree in part at that.
func finer(widths []float64, rate, width, highest float64) float64 {
	best, most := rate, agreement(widths, rate)
	for k := 2.0; k <= mostMultiple && k*rate < highest; k++ {
		multiple := sharpest(widths, k*rate-2*width, width)
		if r := agreement(widths, multiple); r > most+clearlyBetter {
			best, most = multiple, r
		}
	}
	return best
}

const (
	mostMultiple  = 8
	clearlyBetter = 0.02
)

const (
	fewestStrides = 3 // different ones
	fewestStood   = 5 // levels
)

// stoodUpon reports whether widths move over a staircase as a governor's do: by
// strides of several sizes, or resting on several of its levels.
func stoodUpon(widths []float64, step float64) bool {
	strides, stood := map[float64]bool{}, map[float64]bool{}
	for i := 1; i < len(widths); i++ {
		stride := math.Round((widths[i] - widths[i-1]) / step)
		if stride != 0 {
			strides[math.Abs(stride)] = true
		} else {
			stood[math.Round((widths[i]-widths[0])/step)] = true
		}
	}
	return len(strides) >= fewestStrides || len(stood) >= fewestStood
}

// levels are the different widths, in order, those within join taken together.
func levels(widths []float64, join float64) (out []float64) {
	sorted := slices.Sorted(slices.Values(widths))
	for from := 0; from < len(sorted); {
		to := from + 1
		for to < len(sorted) && sorted[to]-sorted[to-1] < join {
			to++
		}
		out = append(out, stat.Mean(sorted[from:to], nil))
		from = to
	}
	return out
}

// refine is the slope of the straight line through the levels, counted in
// steps.
func refine(levels []float64, step float64) float64 {
	number := make([]float64, len(levels))
	for i, gap := range differences(levels) {
		number[i+1] = number[i] + math.Round(gap/step)
	}
	_, refined := stat.LinearRegression(number, levels, nil, false)
	return refined
}
