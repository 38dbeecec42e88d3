package pulse

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"govrig/rig/measure"
)

const (
	fewestWidths = 10   // different ones, to tell a step
	evenShare    = 0.95 // of the differences that must be whole steps
	evenError    = 0.15 // of a step, that a whole one may be off
	mostParts    = 16   // of the smallest difference seen, that a step may be
)

// Step is the step, s, in which widths move: the largest of which all
// differences between the widths seen are whole multiples. Widths closer than
// two resolutions of the timer count as one.
func Step(widths []float64, resolution float64) measure.Reading {
	levels := levels(widths, 2*resolution)
	if len(levels) < fewestWidths {
		return measure.Missing("the widths took only %d values, too few to tell a step", len(levels))
	}
	gaps := differences(levels)
	smallest := slices.Min(gaps)
	for parts := 1; parts <= mostParts; parts++ {
		step := smallest / float64(parts)
		if step < 2*resolution {
			break
		}
		if even(gaps, step) {
			return measure.Read(refine(levels, step))
		}
	}
	return measure.Read(smallest).Warn("the widths do not move in even steps; this is the smallest seen")
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

// even tells whether nearly all gaps are whole steps.
func even(gaps []float64, step float64) bool {
	whole := 0
	for _, gap := range gaps {
		if steps := gap / step; math.Abs(steps-math.Round(steps)) < evenError {
			whole++
		}
	}
	return float64(whole) >= evenShare*float64(len(gaps))
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
