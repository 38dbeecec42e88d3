package loadstep

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/phase"
	"govrig/rig/procedure/proceduretest"
)

func TestLoadStepPassesTheStandIn(t *testing.T) {
	for _, file := range proceduretest.Machines {
		m := proceduretest.MachineOf(t, file, "none")
		r, err := (&Options{Speed: execution.AllSpeeds}).Run(context.Background(), proceduretest.Attended(t, m))
		require.NoError(t, err)
		require.Equal(t, measure.Pass, r.Result.Outcome, "%s: %+v", file, r.Result)
		for _, s := range m.Speeds {
			require.Less(t, proceduretest.Value(t, r, "flight_worst_dip_"+s.Name), -1.0)
			require.Greater(t, proceduretest.Value(t, r, "flight_worst_rise_"+s.Name), 1.0)
			require.Greater(t, proceduretest.Value(t, r, "overload_overshoot_"+s.Name), 1.0)
		}
	}
}

func TestBriefLoadStepLeavesTheSeriesOut(t *testing.T) {
	r, err := (&Options{Brief: true}).Run(context.Background(), proceduretest.Attended(t, proceduretest.MachineOf(t, "medium-15cc", "none")))
	require.NoError(t, err)
	require.Equal(t, measure.Pass, r.Result.Outcome)
	require.Nil(t, r.Result.Find("flight_worst_dip"))
	require.NotContains(t, r.Trace.Phases, phase.Of(phase.Overload))
}

func TestLoadStepCatchesQuirks(t *testing.T) {
	for _, c := range []struct{ file, quirk, fails, says string }{
		{"medium-15cc", "wind_up", "overload_overshoot", "wind-up"},
		{"large-23cc", "wind_up", "overload_overshoot", "wind-up"},
		{"small-6cc", "wind_up", "overload_overshoot", "wind-up"},
	} {
		r, err := (&Options{}).Run(context.Background(), proceduretest.Attended(t, proceduretest.MachineOf(t, c.file, c.quirk)))
		require.NoError(t, err)
		require.Equal(t, measure.Fail, r.Result.Outcome, "%+v", c)
		require.Equal(t, measure.Fail, proceduretest.Outcome(t, r, c.fails), "%+v", c)
		require.Contains(t, proceduretest.Words(r), c.says, "%+v", c)
	}
}

// The overload sags the speed although the throttle is at its end.
func TestOverloadIsMoreThanFullThrottleHolds(t *testing.T) {
	m := proceduretest.MachineOf(t, "medium-15cc", "none")
	r, err := (&Options{Speed: "circuit"}).Run(context.Background(), proceduretest.Attended(t, m))
	require.NoError(t, err)
	from, to := r.Trace.Span(phase.Of(phase.Overload))
	require.InDelta(t, float64(m.Servo.OpenPulse)*1e6, r.Trace.Throttle[to-1], 2)
	require.Less(t, r.Trace.Speed[to-1], 0.95*1660*m.Ratio())
	require.Greater(t, r.Trace.Speed[from], 0.98*1660*m.Ratio())
}
