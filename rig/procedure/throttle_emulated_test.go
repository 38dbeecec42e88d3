package procedure

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
)

// On the real firmware, in the emulator, the stand-in's figures come through
// as exactly as on the virtual board. Nothing here was checked on a chip.
func TestEmulatedThrottleFindsTheStandIn(t *testing.T) {
	m := trainer(t)
	p := m.GovernorParams(board.TickHz)
	r, err := Throttle(context.Background(), emulated(t, m), ThrottleOptions{})
	require.NoError(t, err)
	require.Equal(t, measure.Pass, r.Result.Outcome, "%+v", r.Result)
	travel := math.Abs(p.ThrottleOpen-p.ThrottleClosed) * 1e6 // µs
	require.InDelta(t, p.ArmOn*travel, value(t, r, "arming_threshold")/100*travel, 2)
	require.InDelta(t, p.ArmOff*travel, value(t, r, "release_threshold")/100*travel, 2)
	require.InEpsilon(t, p.FrameRate, value(t, r, "output_frame_rate"), 1e-3)
	require.InEpsilon(t, p.OutputStep*1e6, value(t, r, "output_step"), 1e-9)
}

// The quirks that touch the timing of the lines, on the real firmware.
func TestEmulatedTimingQuirks(t *testing.T) {
	throttle := func(b *Bench) (*Run, error) { return Throttle(context.Background(), b, ThrottleOptions{}) }
	accept := func(b *Bench) (*Run, error) { return Accept(context.Background(), b, AcceptOptions{}) }
	for quirk, want := range map[machine.Quirk]struct {
		run     func(*Bench) (*Run, error)
		measure string
	}{
		"none":           {accept, ""},
		"slow_frames":    {throttle, "output_frame_rate"},
		"coarse_output":  {throttle, "output_step"},
		"other_polarity": {accept, "own_pulses_heard"},
		"deaf_when_fast": {accept, "highest_speed_heard"},
		"counts_twice":   {accept, "counts_per_pulse"},
	} {
		if raced && quirk != "slow_frames" {
			continue
		}
		t.Run(string(quirk), func(t *testing.T) {
			r, err := want.run(emulated(t, quirky(t, quirk)))
			require.NoError(t, err)
			var names []string
			if want.measure != "" {
				names = []string{want.measure}
			}
			require.Equal(t, names, failed(r), "%s", said(r))
		})
	}
}
