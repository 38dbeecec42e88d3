package spoolup

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
	"govrig/rig/procedure/proceduretest"
	"govrig/sim/standin/governor"
	"govrig/sim/unit"
)

// The set speed rises from where the engine idles at the stand-in's own rate, which
// nothing can be quicker than; a slow one misses the machine file's limit, and so does an
// overshoot. Without a limit no time is too long.
func TestRearming(t *testing.T) {
	m := proceduretest.Medium(t)
	most := unit.Time(10)
	run := func(change func(*governor.Params)) map[string]measure.Outcome {
		r, err := (&Options{}).Run(context.Background(), proceduretest.Bench(t, m, change))
		require.NoError(t, err)
		t.Log(r.Found)
		if change == nil {
			rise := float64(m.Speeds[0].HeadSpeed)*m.Ratio() - float64(m.Engine.IdleSpeed)
			took := proceduretest.Value(t, r, rearmTime)
			require.Less(t, took, rise/float64(m.StandIn.SpoolRate)+1.5)
			require.Greater(t, took, 0.5*rise/float64(m.StandIn.SpoolRate))
			require.Contains(t, proceduretest.Words(r), "after 2 s with the stick low while the rotor turns, the speed is back")
			require.Len(t, r.Views, 2)
		}
		return map[string]measure.Outcome{rearmTime: proceduretest.Outcome(t, r, rearmTime), rearmOvershoot: proceduretest.Outcome(t, r, rearmOvershoot)}
	}
	require.Equal(t, map[string]measure.Outcome{rearmTime: measure.Pass, rearmOvershoot: measure.Pass}, run(nil))
	slow := func(p *governor.Params) { p.SpoolRate /= 3 }
	require.Equal(t, measure.Pass, run(slow)[rearmTime])
	m.Speeds[0].Limits.RearmingTime = &most
	require.Equal(t, measure.Fail, run(slow)[rearmTime])
	share := unit.Share(0.01)
	m.Speeds[0].Limits.Overshoot = &share
	require.Equal(t, map[string]measure.Outcome{rearmTime: measure.Pass, rearmOvershoot: measure.Fail}, run(nil))
}

// A throttle hold above the disarming threshold, and one just below it.
func TestRearmingFromHold(t *testing.T) {
	for hold, letsGo := range map[string]bool{"40 %": false, "20 %": true} {
		m := proceduretest.Spoilt(t, "governor:\n", "transmitter:\n  pulse_at_0_percent: 1120 µs\n  pulse_at_100_percent: 1880 µs\n  hold: "+hold+"\n  modes: {normal: {curve: [50 %, 100 %]}}\n\ngovernor:\n")
		r, err := (&Options{}).Run(context.Background(), proceduretest.Bench(t, m, nil))
		require.NoError(t, err)
		if letsGo {
			require.NotContains(t, proceduretest.Words(r), "does not disengage")
			continue
		}
		require.Contains(t, proceduretest.Words(r), "With the stick low (1424 µs) the engine stays at speed: the governor does not disengage.")
		require.Equal(t, measure.NotRun, proceduretest.Outcome(t, r, rearmTime))
	}
}
