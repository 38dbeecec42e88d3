package faults

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/phase"
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
	for _, file := range []string{"trainer-15cc", "sparrow-6cc"} {
		r, err := (&Options{}).Run(context.Background(), proceduretest.Attended(t, proceduretest.MachineOf(t, file, "loss_opens")))
		require.NoError(t, err)
		require.Equal(t, measure.Fail, r.Result.Outcome, file)
		require.Equal(t, "With the pickup lost the throttle stays open: start no engine with this governor.", r.Found[0])
		require.Equal(t, "5 of 19 faults that were tried are NOT SAFE.", r.Found[1])
		require.Equal(t, pickupGone, notSafe(r))
		require.Contains(t, r.Next[0], "Start no engine with this governor")
	}
}

// pickupGone are the faults that leave a governor without its pickup.
var pickupGone = []string{
	"the pickup lost", "the pickup's idle level drifting until no pulse is felt any more", "the pickup lost as a load goes off",
	"the pickup lost during the spool-up", "the governor switched on with the stick up",
}

// Each sick governor is caught by its faults and by no other, the danger said first;
// the healthy one of the same structure by none.
func TestFaultsCatchTheSick(t *testing.T) {
	for name, c := range map[string]struct {
		sick   sick
		danger string
		faults []string
		says   string
	}{
		"healthy":  {sick{}, "All 19 faults that were tried are safe.", nil, ""},
		"low stop": {sick{lowIdle: 0.015}, "All 19 faults that were tried are safe.", nil, ""},
		"high":     {sick{high: true}, "All 19 faults that were tried are safe.", nil, "engages only above 60 % of the stick's travel: it did at 100 %"},
		"keeps":    {sick{loss: keeps}, "With the pickup lost the throttle stays open: ", pickupGone, "the pickup lost: the throttle stays open, at 63 %"},
		"fails":    {sick{loss: fails}, "With the pickup lost the throttle stays open: ", pickupGone, "the engine runs away: the throttle is 100 % open"},
		"not shut": {sick{lowIdle: 0.06}, "With the pickup lost the throttle stays open: ", pickupGone, "stays open, at 6 %"},
		"deaf": {
			sick{deaf: true}, "With the stick lead pulled the throttle stays open: ",
			[]string{"the stick lead pulled", "the leads of stick and select pulled"}, "",
		},
		"latches": {
			sick{latches: 2e-3}, "With a select pulse longer than any setting the throttle stays wide open: ",
			[]string{"a select pulse longer than any setting"}, "the engine runs away",
		},
		"stops": {
			sick{stops: true}, "With a few stray pulses the governor neither holds the speed nor closes the throttle",
			[]string{"a few stray pulses", "every pulse doubled for half a second"}, "the throttle no longer answers",
		},
		"takes up": {
			sick{unready: true}, "With the governor switched on with the stick up the throttle stays open: ",
			[]string{"the governor switched on with the stick up"}, "",
		},
	} {
		r, err := (&Options{}).Run(context.Background(), ward(t, trainer(t), c.sick))
		require.NoError(t, err)
		require.Equal(t, c.faults, notSafe(r), name)
		require.True(t, strings.HasPrefix(r.Found[0], c.danger), "%s: %s", name, r.Found[0])
		require.Contains(t, proceduretest.Words(r), c.says, name)
		require.Equal(t, c.sick.high, strings.Contains(proceduretest.Words(r), "engages only"), name)
		require.Equal(t, c.faults == nil, r.Result.Outcome == measure.Pass, name)
		require.Equal(t, c.faults != nil, strings.Contains(proceduretest.Words(r), "tart no engine"), name)
	}
}

// One that goes by the shortest interval runs at half the speed after stray pulses, and
// hunting through a closed throttle is not closed.
func TestFaultsCatchAWrongSpeed(t *testing.T) {
	r, err := (&Options{}).Run(context.Background(), ward(t, trainer(t), sick{divides: true}))
	require.NoError(t, err)
	require.Contains(t, notSafe(r), "every pulse doubled for half a second")
	require.Contains(t, proceduretest.Words(r), "the set speed does not come back, with the engine at 50 % of the wanted speed")
	require.Contains(t, r.Found[0], "start no engine")
	r, err = (&Options{}).Run(context.Background(), ward(t, trainer(t), sick{swings: true}))
	require.NoError(t, err)
	require.Equal(t, pickupGone, notSafe(r))
}

// A governor that only its supply brings back is brought back, and every fault is done;
// that is said of no other. Where nobody is there to switch it, what spoiled it is
// named, and the rest is left out.
func TestFaultsBringTheGovernorBack(t *testing.T) {
	b := ward(t, trainer(t), sick{supply: true})
	r, err := (&Options{}).Run(context.Background(), b)
	require.NoError(t, err)
	require.Equal(t, measure.Pass, r.Result.Outcome)
	require.Equal(t, "All 19 faults that were tried are safe.", r.Found[0])
	require.Contains(t, proceduretest.Words(r), "After the fault before (the pickup lost) the governor did not take up again until it was switched off and on.")
	require.NotContains(t, proceduretest.Words(r), "After the fault before (a few stray pulses)")

	b = ward(t, trainer(t), sick{supply: true})
	b.StandIn = nil
	r, err = (&Options{}).Run(context.Background(), b)
	require.NoError(t, err)
	require.Equal(t, measure.NotRun, r.Result.Outcome)
	require.Equal(t, measure.Pass, proceduretest.Outcome(t, r, "time_to_safe_pickup_lost"))
	require.Contains(t, r.Result.Find("time_to_safe_idle_level_drift").Warnings[0], "after the fault before (the pickup lost) the governor did not take up again")
	require.NotContains(t, proceduretest.Words(r), "NOT SAFE")

	b = ward(t, trainer(t), sick{})
	b.StandIn = nil
	r, err = (&Options{}).Run(context.Background(), b)
	require.NoError(t, err)
	require.NotContains(t, proceduretest.Words(r), "did not take up again")
}

// A select pulse out of range is judged by what the blades bear; where nobody has
// written that down, by the wanted speed, as far as that tells.
func TestSelectPulsesAreJudgedByTheBlades(t *testing.T) {
	for name, c := range map[string]struct {
		greatest, speed string
		want            measure.Outcome
	}{
		"the blades bear it":        {"  greatest_head_speed: 2100 rpm\n", "hover", measure.Pass},
		"they do not":               {"  greatest_head_speed: 2050 rpm\n", "hover", measure.Fail},
		"nobody knows":              {"", "hover", measure.NotRun},
		"hardly above what is held": {"", "brisk", measure.Pass},
	} {
		m := proceduretest.Spoilt(t, "  greatest_head_speed: 2100 rpm\n", c.greatest)
		r, err := (&Options{Speed: c.speed}).Run(context.Background(), ward(t, m, sick{}))
		require.NoError(t, err)
		require.Equal(t, c.want, proceduretest.Outcome(t, r, "highest_speed_select_too_long"), name)
		require.Equal(t, c.want, r.Result.Outcome, name)
		require.Equal(t, c.want == measure.NotRun, strings.Contains(proceduretest.Words(r), "the blades may not bear"), name)
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
		require.Equal(t, c.want, proceduretest.Outcome(t, r, "time_to_safe_switched_on_stick_up"), name)
		require.Equal(t, measure.Pass, proceduretest.Outcome(t, r, "time_to_safe_pickup_lost"), name)
		if c.why != "" {
			require.Contains(t, r.Result.Find("time_to_safe_governor_reset").Warnings[0], c.why)
		}
	}
}

// What is ordered reaches the pickup line: pulses are missing, added, doubled,
// and gone, however many there are to a turn, up to the board's two thousand a second.
func TestFaultsReachThePickupLine(t *testing.T) {
	const step = "  speed_step: 25 rpm\n"
	for turn, doubled := range map[int]string{
		1: "every pulse doubled for half a second", 4: "250 stray pulses in half a second", 8: "250 stray pulses in half a second",
	} {
		m := proceduretest.Spoilt(t, step, fmt.Sprintf("%s  pulses_per_turn: %d\n", step, turn))
		edges, r := listened(t, m)
		require.Contains(t, proceduretest.Words(r), doubled)
		for name, want := range map[string]struct{ share, more float64 }{
			"missing pulse":  {1, -1},
			"missing bursts": {1, -30},
			"stray pulses":   {1, 5},
			"pickup lost":    {0, 0},
		} {
			regular, count := counted(r, turn, during(name), after(name), edges)
			require.InDelta(t, want.share*regular+want.more, count, 3, "%s, %d to a turn", name, turn)
		}
		regular, count := counted(r, turn, during("doubled pulses"), after("doubled pulses"), edges)
		require.InDelta(t, regular+math.Min(regular, 250), count, 4, "%d to a turn", turn)
	}
}

// listened runs faults, and gives the leading edges on the pickup line, s of the trace.
func listened(t *testing.T, m *machine.Machine) (edges []float64, r *execution.Run) {
	g, err := governor.New(m.GovernorParams(board.TickHz), 0)
	require.NoError(t, err)
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
	r, err = (&Options{Speed: "circuit"}).Run(context.Background(), b)
	require.NoError(t, err)
	for i := range edges {
		edges[i] -= origin
	}
	return edges, r
}

// counted is how many pulses, so many a turn, the plant made from one phase to another, or to the end of
// the first, and how many came on the line.
func counted(r *execution.Run, turn int, first, next phase.Key, edges []float64) (regular float64, count int) {
	from, to := r.Trace.Span(first)
	if after, _ := r.Trace.Span(next); after > 0 {
		to = after
	}
	start, end := r.Trace.Time[from], r.Trace.Time[to-1]
	for _, speed := range r.Trace.Speed[from:to] {
		regular += speed / 60 * float64(turn) * (end - start) / float64(to-from)
	}
	for _, e := range edges {
		if e >= start && e < end {
			count++
		}
	}
	return regular, count
}

// A governor that never takes up: no fault is done, with the reason.
func TestFaultsNeedAGovernorThatHolds(t *testing.T) {
	b := proceduretest.Bench(t, proceduretest.MachineOf(t, "trainer-15cc", "none"), func(p *governor.Params) { p.LossTime = 1e-3 })
	r, err := (&Options{}).Run(context.Background(), b)
	require.NoError(t, err)
	require.Equal(t, measure.NotRun, r.Result.Outcome)
	require.Len(t, untaken(r), 3*19)
	require.NotEmpty(t, r.Result.Find("throttle_at_end_pickup_lost").Warnings)

	r, err = (&Options{}).Run(context.Background(), ward(t, trainer(t), sick{passes: true}))
	require.NoError(t, err)
	require.Equal(t, measure.NotRun, r.Result.Outcome)
	require.Contains(t, proceduretest.Words(r), "has not engaged")
}

// Stopped in the middle of a fault, the board's last word is that it is safe.
func TestFaultsStoppedInMidFault(t *testing.T) {
	for _, phase := range []string{"fault: doubled pulses", "fault: pickup lost, spool-up"} {
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
