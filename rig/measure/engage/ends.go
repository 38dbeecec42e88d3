package engage

import "math"

// Ends is how a throttle uses its ends over a window, shares from 0 to 1 of its
// samples.
type Ends struct{ Low, High float64 }

// Saturated reports whether the throttle stands at either end for half of the
// window or more: then its answers say nothing of the governor.
func (e Ends) Saturated() bool { return e.Low+e.High >= 0.5 }

// EndsOf counts the samples within a margin of either end of the travel, in
// the unit of the throttle. low and high may be given either way round.
func EndsOf(throttle []float64, low, high, margin float64) (e Ends) {
	if low > high {
		low, high = high, low
	}
	n := float64(len(throttle))
	for _, u := range throttle {
		switch {
		case u <= low+margin:
			e.Low += 1 / n
		case u >= high-margin:
			e.High += 1 / n
		}
	}
	return e
}

// mostRatio is the greatest whole number that Ratio looks for.
const mostRatio = 4

// Ratio finds the simple ratio, other than one, in which a speed stands to the
// wanted one: n/1 or 1/n with n up to 4, within a relative tolerance. A
// governor that counts another number of pulses a turn than it is given holds
// such a speed. ok is false where there is none.
func Ratio(speed, wanted, tolerance float64) (over, under int, ok bool) {
	if !(speed > 0) || !(wanted > 0) {
		return 0, 0, false
	}
	near := tolerance
	for n := 2; n <= mostRatio; n++ {
		for _, r := range [][2]int{{n, 1}, {1, n}} {
			off := math.Abs(speed/wanted*float64(r[1])/float64(r[0]) - 1)
			if off <= near {
				over, under, ok, near = r[0], r[1], true, off
			}
		}
	}
	return over, under, ok
}
