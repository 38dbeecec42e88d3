package throttle

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/procedure/accept"
	"govrig/rig/procedure/proceduretest"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
)

// On the real firmware, in the emulator, the stand-in's figures come through
// as exactly as on the virtual board. Nothing here was checked on a chip.
func TestEmulatedThrottleFindsTheStandIn(t *testing.T) {
	m := proceduretest.Medium(t)
	p := m.GovernorParams(board.TickHz)
	r, err := (&Options{}).Run(context.Background(), proceduretest.Emulated(t, m))
	require.NoError(t, err)
	require.Equal(t, measure.Pass, r.Result.Outcome, "%+v", r.Result)
	travel := math.Abs(p.ThrottleOpen-p.ThrottleClosed) * 1e6 // µs
	require.InDelta(t, p.ArmOn*travel, proceduretest.Value(t, r, "arming_threshold")/100*travel, 2)
	require.InDelta(t, p.ArmOff*travel, proceduretest.Value(t, r, "release_threshold")/100*travel, 2)
	require.InEpsilon(t, p.FrameRate, proceduretest.Value(t, r, "output_frame_rate"), 1e-3)
	require.InEpsilon(t, p.OutputStep*1e6, proceduretest.Value(t, r, "output_step"), 1e-9)
}

// The quirks that touch the timing of the lines, on the real firmware.
func TestEmulatedTimingQuirks(t *testing.T) {
	throttle := func(b *execution.Bench) (*execution.Run, error) {
		return (&Options{}).Run(context.Background(), b)
	}
	accept := func(b *execution.Bench) (*execution.Run, error) {
		return (&accept.Options{}).Run(context.Background(), b)
	}
	for quirk, want := range map[machine.Quirk]struct {
		run     func(*execution.Bench) (*execution.Run, error)
		measure string
	}{
		"none":           {accept, ""},
		"slow_frames":    {throttle, "output_frame_rate"},
		"coarse_output":  {throttle, "output_step"},
		"other_polarity": {accept, "own_pulses_heard"},
		"deaf_when_fast": {accept, "highest_speed_heard"},
		"counts_twice":   {accept, "counts_per_pulse"},
	} {
		if proceduretest.Raced && quirk != "slow_frames" {
			continue
		}
		t.Run(string(quirk), func(t *testing.T) {
			r, err := want.run(proceduretest.Emulated(t, proceduretest.Quirky(t, quirk)))
			require.NoError(t, err)
			var names []string
			if want.measure != "" {
				names = []string{want.measure}
			}
			require.Equal(t, names, proceduretest.Failed(r), "%s", proceduretest.Words(r))
		})
	}
}
