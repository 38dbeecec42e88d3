package procedure

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/rig/measure"
	"govrig/rig/runlog"
	"govrig/sim/governor"
)

func TestFaultsPassTheStandIn(t *testing.T) {
	for _, file := range machineFiles {
		m := machineOf(t, file, "none")
		r, err := Faults(context.Background(), attended(t, m), FaultsOptions{Speed: m.Speeds[len(m.Speeds)-1].Name})
		require.NoError(t, err)
		require.Equal(t, measure.Pass, r.Result.Outcome, "%s: %+v", file, r.Result)
		require.Len(t, r.Found, 11)
		require.NotContains(t, words(r), "NOT SAFE")
		require.NotEmpty(t, r.Result.Find("time_to_safe_idle_level_drift").Warnings[0])
		// The stand-in closes the throttle when no pulse has come for its own
		// loss time; its next frame shows it, and the board's next telemetry.
		loss := float64(m.StandIn.LossTime)
		for _, name := range []string{"pickup_lost", "pickup_lost_load_step", "pickup_lost_spool_up"} {
			require.InDelta(t, loss, value(t, r, "time_to_safe_"+name), 0.025, "%s, %s", file, name)
			require.InDelta(t, 0, value(t, r, "throttle_at_end_"+name), 0.5)
		}
	}
}

// A governor that leaves the throttle open is caught by each loss of the
// pickup, and by nothing else.
func TestFaultsCatchAThrottleLeftOpen(t *testing.T) {
	for _, file := range machineFiles {
		r, err := Faults(context.Background(), attended(t, machineOf(t, file, "loss_opens")), FaultsOptions{})
		require.NoError(t, err)
		require.Equal(t, measure.Fail, r.Result.Outcome, file)
		for _, x := range r.Result.Measures {
			lost := strings.Contains(x.Name, "_pickup_lost")
			if strings.HasPrefix(x.Name, "throttle_at_end_") || strings.HasPrefix(x.Name, "time_to_safe_") {
				require.Equal(t, lost, x.Outcome == measure.Fail, "%s, %s", file, x.Name)
			}
		}
		require.Equal(t, 3, strings.Count(words(r), "NOT SAFE"), file)
		require.Contains(t, words(r), "the throttle stays open")
		require.Contains(t, words(r), "Start no engine with this governor")
	}
}

// Quirks of other kinds are none of its business.
func TestFaultsBlameNoOtherQuirk(t *testing.T) {
	for _, quirk := range []string{"proportional_only", "slow_frames", "coarse_output", "no_hysteresis", "coarse_setting"} {
		r, err := Faults(context.Background(), attended(t, machineOf(t, "trainer-15cc", quirk)), FaultsOptions{})
		require.NoError(t, err)
		require.Equal(t, measure.Pass, r.Result.Outcome, "%s: %v", quirk, words(r))
	}
}

// The restart of a real governor is the person's to make.
func TestGovernorResetNeedsThePerson(t *testing.T) {
	for name, c := range map[string]struct {
		ask  func(*governor.Governor) func(context.Context, Question) (string, error)
		want measure.Outcome
		why  string
	}{
		"nobody there": {nil, measure.NotRun, "nobody was there"},
		"not done": {func(*governor.Governor) func(context.Context, Question) (string, error) {
			return func(context.Context, Question) (string, error) { return "yes", nil }
		}, measure.NotRun, "never stopped"},
		"done": {func(g *governor.Governor) func(context.Context, Question) (string, error) {
			return func(_ context.Context, q Question) (string, error) {
				require.Equal(t, "governor_restart", q.Key)
				g.Restart(1.2)
				return "yes", nil
			}
		}, measure.Pass, ""},
	} {
		b := attended(t, machineOf(t, "trainer-15cc", "none"))
		if c.ask != nil {
			b.Ask = c.ask(b.StandIn)
		}
		b.StandIn = nil
		r, err := Faults(context.Background(), b, FaultsOptions{})
		require.NoError(t, err)
		require.Equal(t, c.want, r.Result.Outcome, "%s: %+v", name, r.Result)
		require.Equal(t, c.want, outcome(t, r, "time_to_safe_governor_reset"), name)
		require.Equal(t, measure.Pass, outcome(t, r, "time_to_safe_pickup_lost"), name)
		if c.why != "" {
			require.Contains(t, r.Result.Find("time_to_safe_governor_reset").Warnings[0], c.why)
		}
	}
}

// A governor that never takes up: no fault is done, with the reason.
func TestFaultsNeedAGovernorThatHolds(t *testing.T) {
	b := bench(t, machineOf(t, "trainer-15cc", "none"), func(p *governor.Params) { p.LossTime = 1e-3 })
	r, err := Faults(context.Background(), b, FaultsOptions{})
	require.NoError(t, err)
	require.Equal(t, measure.NotRun, r.Result.Outcome)
	require.Contains(t, r.Result.Find("throttle_at_end_pickup_lost").Warnings[0], "did not become steady")
	require.Contains(t, words(r), "did not take up")
}

// Stopped in the middle of a fault, the board's last word is that it is safe.
func TestFaultsStoppedInMidFault(t *testing.T) {
	for _, phase := range []string{"doubled pulses", "governor reset", "pickup lost", "pickup lost, spool-up"} {
		b := attended(t, machineOf(t, "trainer-15cc", "none"))
		var last protocol.Telemetry
		b.Board = &tap{ReadWriteCloser: b.Board, each: func(m []byte) { _ = last.Parse(m) }}
		ctx, stop := context.WithCancel(context.Background())
		b.Progress = func(name string, _ *runlog.Sample) {
			if name == phase {
				stop()
			}
		}
		r, err := Faults(ctx, b, FaultsOptions{})
		require.ErrorIs(t, err, context.Canceled, phase)
		require.NotZero(t, last.Flags&protocol.TelemetrySafe, phase)
		require.Equal(t, measure.NotRun, r.Result.Outcome)
	}
}
