package sweep

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
	"govrig/rig/procedure/proceduretest"
	"govrig/sim/standin/board"
	"govrig/sim/standin/bridge"
)

// A sweep over a slow wire gives the margins of the ideal one, within 0.3 dB and
// 1°, or is void.
func TestSweepOverASlowWire(t *testing.T) {
	m := proceduretest.Medium(t)
	var ideal Sweep
	_, err := ideal.Measure(context.Background(), proceduretest.Bench(t, m, nil), &Options{Speed: "circuit"})
	require.NoError(t, err)
	for _, c := range []struct {
		kind string
		void bool // may be
	}{{"timer-4", false}, {"jitter", false}, {"timer-16", false}, {"far", true}} {
		kind, err := bridge.Find(c.kind)
		require.NoError(t, err)
		b := proceduretest.Bench(t, m, nil)
		b.Board.(*board.Board).Through(bridge.New(kind, 1))
		var s Sweep
		r, err := s.Measure(context.Background(), b, &Options{Speed: "circuit"})
		require.NoError(t, err)
		if c.void && r.Result.Outcome == measure.Error {
			continue
		}
		require.Equal(t, measure.Pass, r.Result.Outcome, "%s: %v", c.kind, r.Result.Warnings)
		for i, p := range s.Points {
			require.InDelta(t, ideal.Points[i].Margins.Phase.Value, p.Margins.Phase.Value, 1, "%s %s", c.kind, p.Name)
			require.InDelta(t, ideal.Points[i].Margins.Gain.Value, p.Margins.Gain.Value, 0.3, "%s %s", c.kind, p.Name)
		}
	}
}
