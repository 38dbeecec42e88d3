package loadstep

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/procedure/proceduretest"
	"govrig/rig/runlog"
	"govrig/sim/standin/board"
	"govrig/sim/standin/bridge"
	"govrig/sim/standin/governor"
)

// stalled is a brief load step of the medium machine whose computer stands still once.
func stalled(t *testing.T, at float64, length time.Duration, again int) (*execution.Run, error) {
	m := proceduretest.Medium(t)
	m.LoadStep.Hold = 4
	b := proceduretest.Bench(t, m, nil)
	kind, err := bridge.Find("frames")
	require.NoError(t, err)
	way := bridge.New(kind, 1)
	for range again {
		way.Stall(int64(at*board.TickHz), length)
		at += 12
	}
	b.Board.(*board.Board).Through(way)
	return (&Options{Brief: true}).Run(context.Background(), b)
}

// voids are the phases of a run that were void.
func voids(r *execution.Run) (all []string) {
	for _, p := range r.Trace.Phases {
		if p.Void {
			all = append(all, p.String())
		}
	}
	return all
}

// A stall of up to 60 ms, whenever it comes, voids nothing or is made up for by
// playing again; the measures are those of a run without.
func TestStallsAreMadeUpFor(t *testing.T) {
	want, err := stalled(t, 1e6, 0, 1)
	require.NoError(t, err)
	require.Equal(t, measure.Pass, want.Result.Outcome)
	for at := 0.3; at < 16; at += 2.93 {
		for _, length := range []time.Duration{20 * time.Millisecond, 60 * time.Millisecond} {
			got, err := stalled(t, at, length, 1)
			require.NoError(t, err)
			require.Equal(t, measure.Pass, got.Result.Outcome, "%v at %g s: %+v", length, at, got.Result)
			sameRun(t, want, got, fmt.Sprintf("%v at %g s", length, at))
		}
	}
}

// sameRun compares the measures of the governor. When it starts on the governor's frames
// differs, and its speed wanders by a quarter of a percent by itself (the steady-state
// speed band of these runs): two dips may lie as far apart.
func sameRun(t *testing.T, want, got *execution.Run, what string) {
	t.Helper()
	for _, w := range want.Result.Measures {
		tolerance := map[string]float64{"rpm": 8, "%": 0.3, "s": 0.1}[w.Unit]
		if tolerance > 0 && !strings.HasPrefix(w.Name, "pulse") {
			require.InDelta(t, *w.Value, *got.Result.Find(w.Name).Value, tolerance, "%s: %s", what, w.Name)
		}
	}
}

// A longer one trips the failsafe; the governor is engaged anew and the phases are
// played again. The record of it gives the same run again.
func TestFailsafeIsMadeUpFor(t *testing.T) {
	want, err := stalled(t, 1e6, 0, 1)
	require.NoError(t, err)
	for _, at := range []float64{0.5, 4, 12} { // idling, spooling up, under load
		got, err := stalled(t, at, 300*time.Millisecond, 1)
		require.NoError(t, err)
		require.Equal(t, measure.Pass, got.Result.Outcome, "%+v", got.Result)
		require.NotEmpty(t, voids(got))
		require.Contains(t, strings.Join(got.Result.Warnings, "\n"), "was played again: the computer kept the board waiting")
		sameRun(t, want, got, fmt.Sprint(at))
	}
}

// Three times at most; then the run is void and says why, and the governor is not
// blamed.
func TestStallsWithoutEndAreVoid(t *testing.T) {
	m := proceduretest.Medium(t)
	m.LoadStep.Hold = 4
	b := proceduretest.Bench(t, m, nil)
	way := bridge.New(bridge.Kind{Frame: time.Millisecond, Packet: 64, Stall: 300 * time.Millisecond, StallEvery: 2 * time.Second}, 3)
	b.Board.(*board.Board).Through(way)
	dir := filepath.Join(t.TempDir(), "run")
	proceduretest.Recording(b, dir)
	r, err := (&Options{Brief: true}).Run(context.Background(), b)
	require.ErrorContains(t, err, "safe state")
	require.Equal(t, measure.Error, r.Result.Outcome)
	require.Len(t, voids(r), 3*2, "idle and spool-up, three times")
	kept, err := runlog.Open(dir)
	require.NoError(t, err)
	require.Equal(t, runlog.Error, kept.Reason())
}

// More than 500 pulses a second, up to the 2 000 that the board plays: several
// passes in one frame. The rig is as good as at one pulse a turn.
func TestManyPulsesATurn(t *testing.T) {
	for _, perTurn := range []int{2, 3, 4, 6} {
		m := proceduretest.Medium(t)
		m.Governor.PulsesPerTurn = perTurn
		m.LoadStep.Hold = 4
		r, err := (&Options{Brief: true}).Run(context.Background(), proceduretest.Bench(t, m, func(p *governor.Params) { p.PulsesPerTurn = perTurn }))
		require.NoError(t, err)
		require.Equal(t, measure.Pass, r.Result.Outcome, "%d: %+v", perTurn, r.Result)
		require.Empty(t, voids(r))
		require.Less(t, proceduretest.Value(t, r, "pulse_interval_error_worst"), 0.02)
		require.Zero(t, proceduretest.Value(t, r, "pulses_unpaired"))
	}
}
