package rig

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

const frameTicks = 224_000 // 14 ms

// seen is a throttle that has seen pulses of these widths, µs, one a frame.
func seen(widths ...float64) *throttle {
	var th throttle
	for i, w := range widths {
		th.take(int64(i+1)*frameTicks, int64(16*w))
	}
	th.until(math.MaxInt64, 16e6)
	return &th
}

// foreseenAfter is the width foreseen some frames after the newest, µs.
func foreseenAfter(th *throttle, frames float64) float64 {
	return 1e6 * th.forecast(th.end+1).at(th.end+int64(frames*float64(th.frame)))
}

// A trend goes on damped: over h frames it adds the move times φ + φ² + … + φʰ
// (Gardner and McKenzie, Forecasting trends in time series, equation 4; from memory).
func TestThrottleGoesOn(t *testing.T) {
	ramp := seen(1000, 1040, 1080, 1120)
	require.InDelta(t, 1120, foreseenAfter(ramp, 0.9), 1e-6, "no pulse is due yet")
	require.InDelta(t, 1140, foreseenAfter(ramp, 1), 1e-6)
	require.InDelta(t, 1150, foreseenAfter(ramp, 2), 1e-6)
	require.InDelta(t, 1160, foreseenAfter(ramp, 40), 1e-3)
	curve := seen(1000, 1010, 1030, 1060) // moves of 10, 20, 30: the next of 40
	require.InDelta(t, 1080, foreseenAfter(curve, 1), 1e-6)
}

// Where nothing is known of a trend the width stays.
func TestThrottleStays(t *testing.T) {
	require.InDelta(t, 1200, foreseenAfter(seen(1200), 3), 1e-6, "one pulse")
	require.InDelta(t, 1200, foreseenAfter(seen(1200, 1200, 1200, 1200), 3), 1e-6, "no move")
	late := seen(1000, 1040, 1080)
	require.InDelta(t, 1080, 1e6*late.forecast(late.end+frameTicks*3/2).at(late.end+2*frameTicks), 1e-6, "a pulse did not come")
	require.Zero(t, foreseenAfter(seen(900, 600, 100), 1), "no negative widths")
}
