package hold

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure"
	"govrig/rig/phase"
	"govrig/rig/procedure/proceduretest"
	"govrig/rig/runlog"
	"govrig/sim/standin/governor"
)

// A long hold keeps no more than a stretch of itself; its mean and band are those of
// all samples that were shown meanwhile.
func TestLongHoldKeepsAStretch(t *testing.T) {
	b := proceduretest.Bench(t, proceduretest.Medium(t), nil)
	sum, n, least, greatest := 0.0, 0.0, math.Inf(1), 0.0
	steady := phase.Of(phase.Steady)
	b.Progress = func(name string, s *runlog.Sample) {
		if name == steady.String() {
			speed := s.State.EngineSpeed * execution.RPM
			sum, n = sum+speed, n+1
			least, greatest = math.Min(least, speed), math.Max(greatest, speed)
		}
	}
	r, err := (&Options{AtSpeeds: governed.AtEach("hover"), Time: 200}).Run(context.Background(), b)
	require.NoError(t, err)
	require.Equal(t, measure.Pass, r.Result.Outcome, "%+v", r.Result)
	require.GreaterOrEqual(t, n, 200*500.)
	require.LessOrEqual(t, n, 4*52*500.) // four stretches, each of which may go on to 52 s
	require.InDelta(t, sum/n, proceduretest.Value(t, r, "governed_speed"), 0.05)
	wanted := float64(r.Setting.HeadSpeed) * b.Machine.Ratio() * execution.RPM
	require.InDelta(t, 100*(greatest-least)/wanted, proceduretest.Value(t, r, "steady_state_speed_band"), 1e-9)
	require.Less(t, r.Trace.Time[len(r.Trace.Time)-1]-r.Trace.Time[0], 2*stretch)
	require.Greater(t, r.Course.Time[len(r.Course.Time)-1]-r.Course.Time[0], 400.0)
}

// A governor that hunts does so in a long hold, too, and is told so once.
func TestLongHoldFindsHunting(t *testing.T) {
	b := proceduretest.Bench(t, proceduretest.Medium(t), func(p *governor.Params) { p.Gain *= 12 })
	r, err := (&Options{AtSpeeds: governed.AtEach("circuit"), Time: 130}).Run(context.Background(), b)
	require.NoError(t, err)
	require.Equal(t, measure.Fail, proceduretest.Outcome(t, r, "hunting_swing"))
	require.Contains(t, proceduretest.Words(r), "cause is the gain")
}
