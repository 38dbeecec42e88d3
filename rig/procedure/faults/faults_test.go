package faults

import (
	"context"
	"govrig/rig/execution/governed"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/procedure/proceduretest"
	"govrig/rig/runlog"
	"govrig/sim/standin/governor"
)

func TestFaultsPassTheStandIn(t *testing.T) {
	for _, file := range proceduretest.Machines {
		m := proceduretest.MachineOf(t, file, "none")
		r, err := (&Options{AtSpeed: governed.AtSpeed{Speed: m.Speeds[len(m.Speeds)-1].Name}}).Run(context.Background(), proceduretest.Attended(t, m))
		require.NoError(t, err)
		require.NotContains(t, proceduretest.Words(r), "NOT SAFE")
		require.Less(t, proceduretest.Lasted(r), 320.0, "a commission has to fit into an evening")
		if _, known := greatest(m); known {
			require.Equal(t, measure.Pass, r.Result.Outcome, "%s: %+v", file, r.Result)
			require.Equal(t, "All 19 faults that were tried are safe.", r.Found[0])
			require.Len(t, r.Found, 20)
		} else {
			require.Equal(t, "Of 19 faults that were tried 18 are safe; of 1 it cannot be told.", r.Found[0])
			require.Equal(t, []string{"highest_speed_select_too_long"}, untaken(r))
		}
		// The stand-in closes the throttle when no pulse has come for its own
		// loss time; its next frame shows it, and the board's next telemetry.
		loss := float64(m.StandIn.LossTime)
		for _, name := range []string{"pickup_lost", "pickup_lost_load_step", "pickup_lost_spool_up"} {
			require.InDelta(t, loss, proceduretest.Value(t, r, "time_to_safe_"+name), 0.025, "%s, %s", file, name)
			require.InDelta(t, 0, proceduretest.Value(t, r, "throttle_at_end_"+name), 0.5)
		}
	}
}

// untaken are the measures that were not taken.
func untaken(r *execution.Run) (names []string) {
	for _, m := range r.Result.Measures {
		if m.Outcome == measure.NotRun {
			names = append(names, m.Name)
		}
	}
	return names
}

// unsafe are the faults that are said not to be safe, as they stand in the sentence.
func notSafe(r *execution.Run) (faults []string) {
	for _, s := range r.Found {
		if rest, bad := strings.CutPrefix(s, "NOT SAFE: "); bad {
			what, _, _ := strings.Cut(rest, ": ")
			faults = append(faults, what)
		}
	}
	return faults
}

// A governor that leaves the throttle open is caught by each loss of the
// pickup, sudden or by and by, and by nothing else.
func TestFaultsCatchAThrottleLeftOpen(t *testing.T) {
	for _, file := range []string{"medium-15cc", "large-23cc"} {
		r, err := (&Options{}).Run(context.Background(), proceduretest.Attended(t, proceduretest.MachineOf(t, file, "loss_opens")))
		require.NoError(t, err)
		require.Equal(t, measure.Fail, r.Result.Outcome, file)
		require.Equal(t, "With the pickup lost the throttle stays open: start no engine with this governor.", r.Found[0])
		require.Equal(t, "5 of 19 faults that were tried are NOT SAFE.", r.Found[1])
		require.Equal(t, pickupGone, notSafe(r))
		require.Contains(t, r.Next[0], "Start no engine with this governor")
	}
}

// Quirks of other kinds are none of its business.
func TestFaultsBlameNoOtherQuirk(t *testing.T) {
	for _, quirk := range []string{"proportional_only", "slow_frames"} {
		r, err := (&Options{}).Run(context.Background(), proceduretest.Attended(t, proceduretest.MachineOf(t, "medium-15cc", quirk)))
		require.NoError(t, err)
		require.Equal(t, measure.Pass, r.Result.Outcome, "%s: %v", quirk, proceduretest.Words(r))
	}
}

// The restart of a real governor is the person's to make.
func TestGovernorResetNeedsThePerson(t *testing.T) {
	for name, c := range map[string]struct {
		ask  func(governor.Supply) func(context.Context, execution.Question) (string, error)
		want measure.Outcome
		why  string
	}{
		"nobody there": {nil, measure.NotRun, "nobody was there"},
		"not done": {func(governor.Supply) func(context.Context, execution.Question) (string, error) {
			return func(context.Context, execution.Question) (string, error) { return "yes", nil }
		}, measure.NotRun, "never stopped"},
		"done": {func(g governor.Supply) func(context.Context, execution.Question) (string, error) {
			return func(_ context.Context, q execution.Question) (string, error) {
				require.Equal(t, "governor_restart", q.Key)
				g.Restart(1.2)
				return "yes", nil
			}
		}, measure.Pass, ""},
	} {
		b := proceduretest.Attended(t, proceduretest.MachineOf(t, "medium-15cc", "none"))
		if c.ask != nil {
			b.Ask = c.ask(b.StandIn.(governor.Supply))
		}
		b.StandIn = nil
		r, err := (&Options{}).Run(context.Background(), b)
		require.NoError(t, err)
		require.Equal(t, c.want, r.Result.Outcome, "%s: %+v", name, r.Result)
		require.Equal(t, c.want, proceduretest.Outcome(t, r, "time_to_safe_governor_reset"), name)
		require.Equal(t, c.want, proceduretest.Outcome(t, r, "time_to_safe_switched_on_stick_up"), name)
		require.Equal(t, measure.Pass, proceduretest.Outcome(t, r, "time_to_safe_pickup_lost"), name)
		if c.why != "" {
			require.Contains(t, r.Result.Find("time_to_safe_governor_reset").Warnings[0], c.why)
		}
	}
}

// A governor that never takes up: no fault is done, with the reason.
func TestFaultsNeedAGovernorThatHolds(t *testing.T) {
	b := proceduretest.Bench(t, proceduretest.MachineOf(t, "medium-15cc", "none"), func(p *governor.Params) { p.LossTime = 1e-3 })
	r, err := (&Options{}).Run(context.Background(), b)
	require.NoError(t, err)
	require.Equal(t, measure.NotRun, r.Result.Outcome)
	require.Len(t, untaken(r), 3*19)
	require.NotEmpty(t, r.Result.Find("throttle_at_end_pickup_lost").Warnings)

	r, err = (&Options{}).Run(context.Background(), ward(t, medium(t), sick{passes: true}))
	require.NoError(t, err)
	require.Equal(t, measure.NotRun, r.Result.Outcome)
	require.Contains(t, proceduretest.Words(r), "has not engaged")
}

// Stopped in the middle of a fault, the board's last word is that it is safe.
func TestFaultsStoppedInMidFault(t *testing.T) {
	for _, phase := range []string{"fault: doubled pulses", "fault: pickup lost, spool-up"} {
		b := proceduretest.Attended(t, proceduretest.MachineOf(t, "medium-15cc", "none"))
		var last protocol.Telemetry
		b.Board = &proceduretest.Tap{ReadWriteCloser: b.Board, Each: func(m []byte) { _ = last.Parse(m) }}
		ctx, stop := context.WithCancel(context.Background())
		b.Progress = func(name string, _ *runlog.Sample) {
			if name == phase {
				stop()
			}
		}
		r, err := (&Options{}).Run(ctx, b)
		require.ErrorIs(t, err, context.Canceled, phase)
		require.NotZero(t, last.Flags&protocol.TelemetrySafe, phase)
		require.Equal(t, measure.NotRun, r.Result.Outcome)
	}
}
