package figure

import "math"

// Reach widens the range of a panel so far that the inner edges of the zone
// show.
func (z Zone) Reach(low, high float64) (float64, float64) {
	for _, edge := range []float64{z.Y0, z.Y1} {
		if !math.IsInf(edge, 0) {
			low, high = math.Min(low, edge), math.Max(high, edge)
		}
	}
	return low, high
}
