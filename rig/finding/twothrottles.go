package finding

import (
	"fmt"
	"slices"
)

const (
	// placeWithin is how far about its place a throttle may be seen there, a share of
	// the travel, and atPlaces for how much of the time it has to be at one of two.
	placeWithin, atPlaces = 0.01, 0.98
	// leastApart is how far apart the two are at least, and leastAt for how much of
	// the time it is at either.
	leastApart, leastAt = 0.2, 0.1
)

// TwoThrottles reports whether a throttle, a share of the travel, has two places only,
// which makes the engine swing with any gain. Where both are its ends it cannot be
// told: a gain that is far too high throws any throttle to and fro between them.
func TwoThrottles(throttle []float64) (found, next string, is bool) {
	if len(throttle) == 0 {
		return "", "", false
	}
	low, high := slices.Min(throttle), slices.Max(throttle)
	down, up := 0, 0
	for _, share := range throttle {
		switch {
		case share < low+placeWithin:
			down++
		case share > high-placeWithin:
			up++
		}
	}
	n := float64(len(throttle))
	ends := low < atEnd && high > 1-atEnd
	if ends || high-low < leastApart || float64(down+up) < atPlaces*n || float64(min(down, up)) < leastAt*n {
		return "", "", false
	}
	return fmt.Sprintf("the cause is the governor's output: its throttle stands at %.0f %% or at %.0f %% and nowhere between, so that the engine swings with any gain.", 100*low, 100*high),
		"Look in the governor's manual for a mode in which the throttle moves by degrees.", true
}
