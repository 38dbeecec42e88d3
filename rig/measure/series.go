package measure

import (
	"errors"
	"fmt"
	"math"
	"sort"
)

// ErrSeries is wrapped by every complaint about a series that cannot be
// measured at all.
var ErrSeries = errors.New("bad series")

// Series is one quantity sampled over time. Sampling may be irregular.
type Series struct {
	T []float64 // seconds, strictly increasing
	Y []float64 // same length; speeds are rpm
}

// Len is the number of samples.
func (s Series) Len() int { return len(s.T) }

// Validate refuses unequal lengths, numbers that are not finite, and times
// that do not increase. The error wraps ErrSeries.
func (s Series) Validate() error {
	if len(s.T) != len(s.Y) {
		return fmt.Errorf("%w: %d times and %d values", ErrSeries, len(s.T), len(s.Y))
	}
	for i := range s.T {
		if !finite(s.T[i]) || !finite(s.Y[i]) {
			return fmt.Errorf("%w: sample %d is no finite number", ErrSeries, i)
		}
		if i > 0 && s.T[i] <= s.T[i-1] {
			return fmt.Errorf("%w: time does not increase at sample %d (%g s)", ErrSeries, i, s.T[i])
		}
	}
	return nil
}

// Between gives the samples with from ≤ t < to. It shares memory with s.
func (s Series) Between(from, to float64) Series {
	i := sort.SearchFloat64s(s.T, from)
	j := sort.SearchFloat64s(s.T, to)
	if j < i {
		j = i
	}
	return Series{T: s.T[i:j], Y: s.Y[i:j]}
}

// Span is the time from the first to the last sample, s.
func (s Series) Span() float64 {
	if len(s.T) == 0 {
		return 0
	}
	return s.T[len(s.T)-1] - s.T[0]
}

// Mean is the mean value, NaN for an empty series.
func (s Series) Mean() float64 {
	sum := 0.0
	for _, y := range s.Y {
		sum += y
	}
	return sum / float64(len(s.Y))
}

// Extent gives the least and the greatest value, NaN for an empty series.
func (s Series) Extent() (least, greatest float64) {
	if len(s.Y) == 0 {
		return math.NaN(), math.NaN()
	}
	least, greatest = s.Y[0], s.Y[0]
	for _, y := range s.Y {
		least, greatest = math.Min(least, y), math.Max(greatest, y)
	}
	return least, greatest
}

// looked is how many intervals are looked at for their median.
const looked = 1001

// Interval is the median time between samples, NaN for fewer than two. Of a
// long series it looks at about a thousand intervals, spread evenly.
func (s Series) Interval() float64 {
	n := len(s.T) - 1
	if n < 1 {
		return math.NaN()
	}
	d := make([]float64, min(n, looked))
	for k := range d {
		i := k * n / len(d)
		d[k] = s.T[i+1] - s.T[i]
	}
	sort.Float64s(d)
	return d[len(d)/2]
}

// gapFactor is how many median intervals without a sample make a gap.
const gapFactor = 10

// Gap is a stretch without samples.
type Gap struct{ From, To float64 } // seconds

// Gaps finds every stretch longer than ten median intervals.
func (s Series) Gaps() []Gap {
	longest := gapFactor * s.Interval()
	var gaps []Gap
	for i := 1; i < len(s.T); i++ {
		if s.T[i]-s.T[i-1] > longest {
			gaps = append(gaps, Gap{From: s.T[i-1], To: s.T[i]})
		}
	}
	return gaps
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
