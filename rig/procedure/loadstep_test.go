package procedure

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
)

func TestLoadStepPassesTheStandIn(t *testing.T) {
	for _, file := range machineFiles {
		m := machineOf(t, file, "none")
		r, err := LoadStep(context.Background(), attended(t, m), LoadStepOptions{Speed: AllSpeeds})
		require.NoError(t, err)
		require.Equal(t, measure.Pass, r.Result.Outcome, "%s: %+v", file, r.Result)
		for _, s := range m.Speeds {
			require.Less(t, value(t, r, "flight_worst_dip_"+s.Name), -1.0)
			require.Greater(t, value(t, r, "flight_worst_rise_"+s.Name), 1.0)
			require.Greater(t, value(t, r, "overload_overshoot_"+s.Name), 1.0)
		}
	}
}

func TestBriefLoadStepLeavesTheSeriesOut(t *testing.T) {
	r, err := LoadStep(context.Background(), attended(t, machineOf(t, "trainer-15cc", "none")), LoadStepOptions{Brief: true})
	require.NoError(t, err)
	require.Equal(t, measure.Pass, r.Result.Outcome)
	require.Nil(t, r.Result.Find("flight_worst_dip"))
	require.NotContains(t, strings.Join(r.Trace.Phases, " "), "overload")
}

func TestLoadStepCatchesQuirks(t *testing.T) {
	for _, c := range []struct{ file, quirk, fails, says string }{
		{"trainer-15cc", "wind_up", "overload_overshoot", "wind-up"},
		{"camera-23cc", "wind_up", "overload_overshoot", "wind-up"},
		{"sparrow-6cc", "wind_up", "overload_overshoot", "wind-up"},
		{"trainer-15cc", "proportional_only", "transient_deviation_load_on", "does not bring it back"},
		{"sparrow-6cc", "proportional_only", "transient_deviation_load_on", "does not bring it back"},
	} {
		r, err := LoadStep(context.Background(), attended(t, machineOf(t, c.file, c.quirk)), LoadStepOptions{})
		require.NoError(t, err)
		require.Equal(t, measure.Fail, r.Result.Outcome, "%+v", c)
		require.Equal(t, measure.Fail, outcome(t, r, c.fails), "%+v", c)
		require.Contains(t, words(r), c.says, "%+v", c)
	}
}

// The overload sags the speed although the throttle is at its end.
func TestOverloadIsMoreThanFullThrottleHolds(t *testing.T) {
	m := machineOf(t, "trainer-15cc", "none")
	r, err := LoadStep(context.Background(), attended(t, m), LoadStepOptions{Speed: "circuit"})
	require.NoError(t, err)
	from, to := r.Trace.phase("overload")
	require.InDelta(t, float64(m.Servo.OpenPulse)*1e6, r.Trace.Throttle[to-1], 2)
	require.Less(t, r.Trace.Speed[to-1], 0.95*1660*m.Ratio())
	require.Greater(t, r.Trace.Speed[from], 0.98*1660*m.Ratio())
}
