package pulse

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"govrig/rig/measure"
)

// Rate is the rate of frames, 1/s, from the moments at which pulses start, s,
// in order: the slope of the straight line through them, counted in frames. A
// pulse left out leaves its number out.
func Rate(starts []float64) measure.Reading {
	if len(starts) < 3 {
		return measure.Missing("%d pulses are too few to tell a rate", len(starts))
	}
	gaps := differences(starts)
	slices.Sort(gaps)
	usual := gaps[len(gaps)/2]
	number := make([]float64, len(starts))
	for i := 1; i < len(starts); i++ {
		number[i] = number[i-1] + math.Round((starts[i]-starts[i-1])/usual)
	}
	_, period := stat.LinearRegression(number, starts, nil, false)
	return measure.Read(1 / period)
}

// differences are those from each value to the next.
func differences(values []float64) []float64 {
	out := make([]float64, 0, len(values))
	for i := 1; i < len(values); i++ {
		out = append(out, values[i]-values[i-1])
	}
	return out
}
