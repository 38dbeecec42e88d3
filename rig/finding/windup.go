package finding

import (
	"govrig/rig/measure"
	"govrig/rig/measure/engage"
)

// WindUpTime is how long the throttle may stay at its open end with the speed
// above the wanted, s, before that is wind-up: a governor has to see the speed
// and its servo frame has to go out.
const WindUpTime = 0.2

// WindUp reports whether a governor, overloaded, went on adding: after the load is
// gone its throttle stays at the open end although the speed is above was, what it
// was before. held is for how long, s. speed and throttle, a share of the travel,
// begin as the load goes off; before is the throttle before the overload: one that
// stood open then does not govern.
func WindUp(speed, throttle measure.Series, before []float64, was float64) (held float64, is bool) {
	if engage.EndsOf(before, 0, 1, 2*atEnd).High > 0.5 {
		return 0, false
	}
	from := -1
	for i, y := range speed.Y {
		over := y > was
		if from < 0 && over {
			from = i
		}
		if from >= 0 && (!over || throttle.Y[i] < 1-2*atEnd) {
			return speed.T[i] - speed.T[from], speed.T[i]-speed.T[from] > WindUpTime
		}
	}
	if from < 0 {
		return 0, false
	}
	held = speed.T[len(speed.T)-1] - speed.T[from]
	return held, held > WindUpTime
}
