package step

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
)

// An engine that fires unevenly wanders slowly, before a load step as after
// it. That is no creep toward a level that is yet to come: the answer is read.
// An approach with a time constant of 4 s is one.
func TestWanderIsNoCreep(t *testing.T) {
	log := func(before, after float64) (s measure.Series) {
		for i := range 6_000 {
			at := float64(i) / 500
			y := 10_000 + before*math.Sin(2*math.Pi*at/1.5)
			if at >= 6 {
				since := at - 6
				y = 10_000 - 400*math.Exp(-since/0.3) + after*math.Sin(2*math.Pi*(at-0.75)/3)
			}
			s.T, s.Y = append(s.T, at), append(s.Y, y)
		}
		return s
	}
	c := LoadConfig{Windows: Windows{Event: 6, Before: 2}, Declared: 10_000, Tolerance: 2}
	require.True(t, AnalyseLoad(log(25, 25), c).RecoveryFromExit.OK())
	require.True(t, AnalyseLoad(log(0, 25), c).RecoveryFromExit.OK())
	creeping := log(0, 0)
	for i, at := range creeping.T {
		if at >= 6 {
			creeping.Y[i] -= 200 * math.Exp(-(at-6)/4)
		}
	}
	slow := AnalyseLoad(creeping, c).RecoveryFromExit
	require.False(t, slow.OK())
	require.Contains(t, slow.Why, "drifts")
}
