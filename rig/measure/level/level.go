// Package level finds the two levels of a line that switches.
package level

import "sort"

// least is the span, V, below which a line does not switch.
const least = 0.3

// States gives the state levels, V, of a line from the lowest and the highest
// voltages that were seen on it in windows of time; ok is false when it did not
// switch, and low and high are then the same level, its usual one.
//
// The state levels are modes of the lower and of the upper half of what was seen,
// as in the histogram method of IEEE Std 181-2011 (from memory): a spike, or an
// edge that a sample fell into, does not shift them. The mode is taken as the
// middle of the shortest interval that holds half of the values.
func States(lowest, highest []float64) (low, high float64, ok bool) {
	all := append(append([]float64(nil), lowest...), highest...)
	if len(all) == 0 {
		return 0, 0, false
	}
	sort.Float64s(all)
	span := all[len(all)-1] - all[0]
	if span < least {
		usual := mode(all)
		return usual, usual, false
	}
	half := sort.SearchFloat64s(all, all[0]+span/2)
	return mode(all[:half]), mode(all[half:]), true
}

// mode is the middle of the shortest interval that holds half of the values, which
// are sorted.
func mode(sorted []float64) float64 {
	n := (len(sorted) + 1) / 2
	best := 0
	width := func(i int) float64 { return sorted[i+n-1] - sorted[i] }
	for i := range len(sorted) - n + 1 {
		if width(i) < width(best) {
			best = i
		}
	}
	return (sorted[best] + sorted[best+n-1]) / 2
}
