package finding

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
)

// A throttle flaps that goes to and fro by more than a little; not one that opens,
// jitters, or gives way once or twice to a clutch.
func TestFlaps(t *testing.T) {
	opening := func(t float64) float64 { return math.Min(0.9, 0.1*t) }
	for name, c := range map[string]struct {
		throttle  func(t float64) float64
		is        bool
		reversals float64
	}{
		"opens":            {opening, false, 0},
		"flaps at 6 Hz":    {func(t float64) float64 { return opening(t) + 0.3*math.Sin(12*math.Pi*t) }, true, 12},
		"flaps for a time": {func(t float64) float64 { return opening(t) + 0.4*math.Exp(-(t-4)*(t-4)/4)*math.Sin(12*math.Pi*t) }, true, 12},
		"small strokes":    {func(t float64) float64 { return opening(t) + 0.2*math.Sin(6*math.Pi*t) }, false, 6},
		"jitters":          {func(t float64) float64 { return opening(t) + 0.02*math.Sin(60*math.Pi*t) }, false, 0},
		"swings slowly":    {func(t float64) float64 { return 0.5 + 0.4*math.Sin(2*math.Pi*t) }, false, 2},
		"gives way once":   {func(t float64) float64 { return opening(t) - 0.4*math.Exp(-4*(t-4)*(t-4)) }, false, 1},
	} {
		f, is, ok := Flaps(sampled(8, c.throttle))
		require.True(t, ok, name)
		require.Equal(t, c.is, is, "%s: %+v", name, f)
		require.InDelta(t, c.reversals, f.Reversals, 0.5, name)
	}
	// Six turns a second of 0.2 each are 1.2 of the travel, the way up beside.
	f, _, _ := Flaps(sampled(8, func(t float64) float64 { return 0.5 + 0.1*math.Sin(6*math.Pi*t) }))
	require.InDelta(t, 1.2, f.Travel, 0.05)
	_, _, ok := Flaps(measure.Series{T: []float64{0, 1}, Y: []float64{0, 1}})
	require.False(t, ok)
}
