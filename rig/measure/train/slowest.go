package train

import "math"

const (
	slowing = 2.5 // a turn may take that many times as long as the one before
	paused  = 2.0 // s: a turn that takes longer is a pause
)

// Slowest is the lowest speed, turns a second, at which turns of perTurn pulses
// came one after the other; 0 when none did. A turn counts as slow, and not as
// a pause, when the one before took at least 1/2.5 of its time.
func Slowest(pulses []Pulse, perTurn int) float64 {
	longest := 0.0
	for i := perTurn; i+perTurn < len(pulses); i++ {
		before := pulses[i].Start - pulses[i-perTurn].Start
		turn := pulses[i+perTurn].Start - pulses[i].Start
		if before <= paused && turn <= paused && turn <= slowing*before && before <= slowing*turn {
			longest = math.Max(longest, math.Max(before, turn))
		}
	}
	if longest == 0 {
		return 0
	}
	return 1 / longest
}
