package predict

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"govrig/sim/unit"
)

// MostValues is the greatest number of gains, of integral times, or of
// variations of a kind.
const MostValues = 40

// Values reads a list "1,2,5" or a range "1..10", which stands for n values
// spaced evenly in ratio; "1..10/5" stands for five. Numbers without a unit are
// in the usual one. The values come back in SI, in rising order.
func Values(text string, d *unit.Dimension, usual string, n int) ([]float64, error) {
	low, high, isRange := strings.Cut(text, "..")
	if !isRange {
		return list(text, d, usual)
	}
	if span, count, ok := strings.Cut(high, "/"); ok {
		var err error
		if n, err = strconv.Atoi(strings.TrimSpace(count)); err != nil || n < 2 || n > MostValues {
			return nil, fmt.Errorf("%q: a range has 2 to %d values", text, MostValues)
		}
		high = span
	}
	ends, err := list(low+","+high, d, usual)
	if err != nil {
		return nil, err
	}
	if len(ends) != 2 || ends[0] <= 0 {
		return nil, fmt.Errorf("%q: a range has two ends, both above zero", text)
	}
	values := make([]float64, n)
	for i := range values {
		values[i] = ends[0] * math.Pow(ends[1]/ends[0], float64(i)/float64(n-1))
	}
	return values, nil
}

func list(text string, d *unit.Dimension, usual string) ([]float64, error) {
	var values []float64
	for _, item := range strings.Split(text, ",") {
		item = strings.TrimSpace(item)
		if _, err := strconv.ParseFloat(item, 64); err == nil || errors.Is(err, strconv.ErrRange) {
			item += " " + usual
		}
		v, err := d.Parse(item)
		if err != nil {
			return nil, err
		}
		values = append(values, v)
	}
	slices.Sort(values)
	if values = slices.Compact(values); len(values) > MostValues {
		return nil, fmt.Errorf("%d values are too many; at most %d", len(values), MostValues)
	}
	return values, nil
}

// around gives n values in steps of half an octave, of which value is the one
// at index own.
func around(value float64, own, n int) []float64 {
	values := make([]float64, n)
	for i := range values {
		values[i] = value * math.Pow(2, float64(i-own)/2)
	}
	return values
}
