package pulse

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

const tick = 62.5e-9 // s

// The moments of 71 Hz frames rounded to ticks, every ninth left out.
func TestRateOverFramesLeftOut(t *testing.T) {
	var starts []float64
	for i := range 150 {
		if i%9 != 4 {
			starts = append(starts, math.Round((0.3+float64(i)/71)/tick)*tick)
		}
	}
	require.InEpsilon(t, 71, Rate(starts).Value, 1e-7)
}

func TestTooFewPulsesHaveNoRate(t *testing.T) {
	require.False(t, Rate([]float64{0, 0.02}).OK())
}

// Whatever widths were seen of an evenly stepped line, the step is found
// exactly, as long as their steps have no common factor.
func TestStepIsFoundExactly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ticks := rapid.IntRange(4, 500).Draw(t, "step, ticks")
		first := rapid.IntRange(16_000, 20_000).Draw(t, "first, ticks")
		at := rapid.IntRange(0, 20).Draw(t, "from")
		var widths []float64
		for _, more := range rapid.SliceOfN(rapid.IntRange(1, 3), 10, 60).Draw(t, "steps") {
			at += more
			widths = append(widths, float64(first+at*ticks)*tick)
		}
		widths = append(widths, widths[0]+float64(ticks)*tick)
		got := Step(widths, tick)
		require.True(t, got.OK())
		require.InEpsilon(t, float64(ticks)*tick, got.Value, 1e-9)
	})
}

// A line that moves freely has no even step; the smallest seen is no larger than
// its widths lie apart.
func TestFreeWidthsHaveNoEvenStep(t *testing.T) {
	var widths []float64
	for i := range 400 {
		widths = append(widths, math.Round((1.1e-3+0.8e-3*math.Mod(float64(i)*math.Phi, 1))/tick)*tick)
	}
	got := Step(widths, tick)
	require.LessOrEqual(t, got.Value, 2e-6)
	require.NotEmpty(t, got.Warnings)
}

func TestStillLineHasNoStep(t *testing.T) {
	require.False(t, Step([]float64{1.1e-3, 1.1e-3, 1.2e-3}, tick).OK())
}

// Dead below 0.1, straight from there to 0.5, then let go.
func TestFollowFindsTheStraightStretch(t *testing.T) {
	var x, y []float64
	for i := range 41 {
		at := float64(i) / 40
		x = append(x, at)
		switch {
		case at > 0.5:
			y = append(y, 1)
		default:
			y = append(y, max(0, 1.25*(at-0.1)))
		}
	}
	line, ok := Follow(x, y, 0.005, 0.02)
	require.True(t, ok)
	require.InDelta(t, 1.25, line.Slope, 1e-9)
	require.InDelta(t, 0.1, line.X(0), 1e-9)
	require.InDelta(t, 0.1, line.From, 1e-9)
	require.InDelta(t, 0.5, line.To, 1e-9)
}

// Reversed servo, coarse steps: the direction and about the slope.
func TestFollowCoarseAndReversed(t *testing.T) {
	var x, y []float64
	for i := range 21 {
		x = append(x, float64(i)/20)
		y = append(y, -0.03*math.Round(float64(i)/20/0.03))
	}
	line, ok := Follow(x, y, 0.005, 0.01, 0.02, 0.04)
	require.True(t, ok)
	require.InDelta(t, -1, line.Slope, 0.03)
}

func TestNothingFollows(t *testing.T) {
	_, ok := Follow([]float64{0, 1, 2, 3, 4, 5}, []float64{7, 7, 7, 7, 7, 7}, 0.1)
	require.False(t, ok)
}
