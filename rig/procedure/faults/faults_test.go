package faults

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/procedure/proceduretest"
	"govrig/rig/record/runlog"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
	"govrig/sim/standin/governor"
)

func TestFaultsPassTheStandIn(t *testing.T) {
	for _, file := range proceduretest.Machines {
		m := proceduretest.MachineOf(t, file, "none")
		r, err := (&Options{Speed: m.Speeds[len(m.Speeds)-1].Name}).Run(context.Background(), proceduretest.Attended(t, m))
		require.NoError(t, err)
		require.Equal(t, measure.Pass, r.Result.Outcome, "%s: %+v", file, r.Result)
		require.Len(t, r.Found, 13)
		require.Equal(t, "All 12 faults that were tried are safe.", r.Found[0])
		require.NotContains(t, proceduretest.Words(r), "NOT SAFE")
		// The stand-in closes the throttle when no pulse has come for its own
		// loss time; its next frame shows it, and the board's next telemetry.
		loss := float64(m.StandIn.LossTime)
		for _, name := range []string{"pickup_lost", "pickup_lost_load_step", "pickup_lost_spool_up"} {
			require.InDelta(t, loss, proceduretest.Value(t, r, "time_to_safe_"+name), 0.025, "%s, %s", file, name)
			require.InDelta(t, 0, proceduretest.Value(t, r, "throttle_at_end_"+name), 0.5)
		}
	}
}

// A governor that leaves the throttle open is caught by each loss of the
// pickup, sudden or by and by, and by nothing else.
func TestFaultsCatchAThrottleLeftOpen(t *testing.T) {
	for _, file := range []string{"trainer-15cc", "sparrow-6cc"} {
		r, err := (&Options{}).Run(context.Background(), proceduretest.Attended(t, proceduretest.MachineOf(t, file, "loss_opens")))
		require.NoError(t, err)
		require.Equal(t, measure.Fail, r.Result.Outcome, file)
		for _, x := range r.Result.Measures {
			lost := strings.Contains(x.Name, "_pickup_lost") || strings.Contains(x.Name, "_idle_level_drift")
			if strings.HasPrefix(x.Name, "throttle_at_end_") || strings.HasPrefix(x.Name, "time_to_safe_") {
				require.Equal(t, lost, x.Outcome == measure.Fail, "%s, %s", file, x.Name)
			}
		}
		require.Equal(t, 4, strings.Count(proceduretest.Words(r), "NOT SAFE: "), file)
		require.Equal(t, "4 of 12 faults that were tried are NOT SAFE.", r.Found[0])
		require.Contains(t, proceduretest.Words(r), "the throttle stays open")
		require.Contains(t, proceduretest.Words(r), "Start no engine with this governor")
	}
}

// Quirks of other kinds are none of its business.
func TestFaultsBlameNoOtherQuirk(t *testing.T) {
	for _, quirk := range []string{"proportional_only", "slow_frames"} {
		r, err := (&Options{}).Run(context.Background(), proceduretest.Attended(t, proceduretest.MachineOf(t, "trainer-15cc", quirk)))
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
		b := proceduretest.Attended(t, proceduretest.MachineOf(t, "trainer-15cc", "none"))
		if c.ask != nil {
			b.Ask = c.ask(b.StandIn.(governor.Supply))
		}
		b.StandIn = nil
		r, err := (&Options{}).Run(context.Background(), b)
		require.NoError(t, err)
		require.Equal(t, c.want, r.Result.Outcome, "%s: %+v", name, r.Result)
		require.Equal(t, c.want, proceduretest.Outcome(t, r, "time_to_safe_governor_reset"), name)
		require.Equal(t, measure.Pass, proceduretest.Outcome(t, r, "time_to_safe_pickup_lost"), name)
		if c.why != "" {
			require.Contains(t, r.Result.Find("time_to_safe_governor_reset").Warnings[0], c.why)
		}
	}
}

// What is ordered reaches the pickup line: pulses are missing, added, doubled,
// and gone.
func TestFaultsReachThePickupLine(t *testing.T) {
	m := proceduretest.MachineOf(t, "trainer-15cc", "none")
	g, err := governor.New(m.GovernorParams(board.TickHz), 0)
	require.NoError(t, err)
	var edges []float64 // leading ones, s
	watch := func(line governor.Line, tick int64, high bool) {
		if line == governor.Pickup && high != (m.Pickup.Active == machine.Low) {
			edges = append(edges, float64(tick)/board.TickHz)
		}
	}
	b := &execution.Bench{Machine: m, Where: "virtual", StandIn: g}
	origin := -1.0 // of the trace's time, by the board's clock
	b.Board = &proceduretest.Tap{ReadWriteCloser: board.New(board.Options{Governor: g, Watch: watch}), Each: func(message []byte) {
		var telemetry protocol.Telemetry
		if origin < 0 && telemetry.Parse(message) == nil {
			origin = float64(telemetry.Ticks) / board.TickHz
		}
	}}
	r, err := (&Options{Speed: "circuit"}).Run(context.Background(), b)
	require.NoError(t, err)
	for name, want := range map[string]struct{ share, more float64 }{
		"missing pulse":  {1, -1},
		"missing bursts": {1, -30},
		"stray pulses":   {1, 5},
		"doubled pulses": {2, 0},
		"pickup lost":    {0, 0},
	} {
		from, to := r.Trace.Span(during(name))
		if after, _ := r.Trace.Span(after(name)); after > 0 {
			to = after
		}
		start, end := r.Trace.Time[from], r.Trace.Time[to-1]
		regular, count := 0.0, 0
		for _, speed := range r.Trace.Speed[from:to] {
			regular += speed / 60 * (end - start) / float64(to-from)
		}
		for _, e := range edges {
			if e-origin >= start && e-origin < end {
				count++
			}
		}
		require.InDelta(t, want.share*regular+want.more, count, 3, name)
	}
}

// A governor that never takes up: no fault is done, with the reason.
func TestFaultsNeedAGovernorThatHolds(t *testing.T) {
	b := proceduretest.Bench(t, proceduretest.MachineOf(t, "trainer-15cc", "none"), func(p *governor.Params) { p.LossTime = 1e-3 })
	r, err := (&Options{}).Run(context.Background(), b)
	require.NoError(t, err)
	require.Equal(t, measure.NotRun, r.Result.Outcome)
	require.Contains(t, r.Result.Find("throttle_at_end_pickup_lost").Warnings[0], "did not become steady")
	require.Contains(t, proceduretest.Words(r), "did not take up")
}

// Stopped in the middle of a fault, the board's last word is that it is safe.
func TestFaultsStoppedInMidFault(t *testing.T) {
	for _, phase := range []string{"doubled pulses", "pickup lost, spool-up"} {
		b := proceduretest.Attended(t, proceduretest.MachineOf(t, "trainer-15cc", "none"))
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
