package step

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
)

// dipped is the answer of inertia under PI control to a load, critically damped
// with ω = 4/s: t·exp(−4t), text-book; its greatest, 1/(4e), at 0.25 s.
func dipped(end, depth float64) measure.Series {
	var s measure.Series
	for i := 0; float64(i)/100 <= end; i++ {
		t := float64(i)/100 - 2
		s.T = append(s.T, t)
		s.Y = append(s.Y, 1600-depth*4*math.E*math.Max(0, t)*math.Exp(-4*math.Max(0, t)))
	}
	return s
}

// A log that ends soon after the speed is back says when that was; one that ends
// before, or in the middle of a swing through the band, does not.
func TestLogThatEndsEarly(t *testing.T) {
	c := LoadConfig{Windows: Windows{Event: 0}, Declared: 1600, Tolerance: 2}
	whole := AnalyseLoad(dipped(12, 80), c).RecoveryFromEvent
	require.True(t, whole.OK())
	for _, more := range []float64{0.3, 0.4, 0.6, 1, 2} {
		got := AnalyseLoad(dipped(2+whole.Value+more, 80), c)
		require.True(t, got.RecoveryFromEvent.OK(), "%g s more: %s", more, got.RecoveryFromEvent.Why)
		require.InDelta(t, whole.Value, got.RecoveryFromEvent.Value, 0.05)
		require.InDelta(t, whole.Value-got.Exit.Value, got.RecoveryFromExit.Value, 0.05)
		if more < 0.5 {
			require.NotEmpty(t, got.RecoveryFromEvent.Warnings)
		}
	}
	for _, less := range []float64{0.1, 0, -0.2, -0.4} {
		require.False(t, AnalyseLoad(dipped(2+whole.Value+less, 80), c).RecoveryFromEvent.OK(), "%g s more", less)
	}
	swing := dipped(12, 0)
	for i, at := range swing.T {
		swing.Y[i] -= 80 * math.Sin(3*math.Max(0, at))
	}
	for _, end := range []float64{2.9, 3, 3.1, 3.2} {
		n := int(100 * end)
		got := AnalyseLoad(measure.Series{T: swing.T[:n], Y: swing.Y[:n]}, c)
		require.False(t, got.RecoveryFromEvent.OK(), "it goes through the band at %g s", end-2)
	}
}
