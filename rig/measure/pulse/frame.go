package pulse

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"govrig/rig/measure"
)

// Frames is what the moments at which pulses start tell of their frames.
type Frames struct {
	// Rate is the rate of frames, 1/s.
	Rate measure.Reading
	// Jitter is the root mean square departure of the period between pulses
	// that follow each other from its mean, s.
	Jitter measure.Reading
	// Missing is the share of frames without a pulse, 0 to 1.
	Missing measure.Reading
}

// FramesOf reads frames from the moments at which pulses start, s, in order.
// The rate is the slope of the straight line through them, counted in frames;
// a pulse left out leaves its number out.
func FramesOf(starts []float64) Frames {
	if len(starts) < 3 {
		m := measure.Missing("%d pulses are too few to tell a rate", len(starts))
		return Frames{m, m, m}
	}
	gaps := differences(starts)
	usual := slices.Sorted(slices.Values(gaps))[len(gaps)/2]
	number := make([]float64, len(starts))
	var single []float64
	for i, gap := range gaps {
		frames := math.Max(1, math.Round(gap/usual))
		number[i+1] = number[i] + frames
		if frames == 1 {
			single = append(single, gap)
		}
	}
	_, period := stat.LinearRegression(number, starts, nil, false)
	f := Frames{Rate: measure.Read(1 / period), Missing: measure.Read(1 - float64(len(starts))/(number[len(gaps)]+1))}
	if f.Jitter = measure.Missing("too few pulses follow each other"); len(single) > 2 {
		f.Jitter = measure.Read(stat.StdDev(single, nil))
	}
	return f
}

// differences are those from each value to the next.
func differences(values []float64) []float64 {
	out := make([]float64, 0, len(values))
	for i := 1; i < len(values); i++ {
		out = append(out, values[i]-values[i-1])
	}
	return out
}
