package hunting

import (
	"fmt"
	"math"

	"govrig/rig/measure"
)

// Cycle is an oscillation read in the time domain, whatever its shape, as in a
// relay experiment.
type Cycle struct {
	Period    float64 // mean time between rising passages of the mean, s
	Amplitude float64 // mean of half of peak to peak
	Cycles    int     // whole cycles read
}

// ReadCycle reads period and peak from the passages of the mean, interpolated.
// A passage counts once the signal has been a quarter of its range beyond the
// other side, so that noise does not count twice.
func ReadCycle(s measure.Series) (Cycle, error) {
	if err := s.Validate(); err != nil {
		return Cycle{}, err
	}
	least, greatest := s.Extent()
	middle, arm := (least+greatest)/2, (greatest-least)/4
	var passages, swings []float64
	low := false
	bottom, top := math.Inf(1), math.Inf(-1)
	for i, y := range s.Y {
		bottom, top = math.Min(bottom, y), math.Max(top, y)
		switch {
		case y < middle-arm:
			low = true
		case low && y >= middle:
			low = false
			x := (middle - s.Y[i-1]) / (y - s.Y[i-1])
			passages = append(passages, s.T[i-1]+x*(s.T[i]-s.T[i-1]))
			if len(passages) > 1 {
				swings = append(swings, (top-bottom)/2)
			}
			bottom, top = y, y
		}
	}
	n := len(passages) - 1
	if n < 1 || arm == 0 {
		return Cycle{}, fmt.Errorf("hunting: no whole cycle in %.3g s", s.Span())
	}
	return Cycle{Period: (passages[n] - passages[0]) / float64(n), Amplitude: average(swings), Cycles: n}, nil
}
