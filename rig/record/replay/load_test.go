package replay

import (
	"context"
	"govrig/rig/execution/governed"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/phase"
	"govrig/rig/procedure/hold"
	"govrig/rig/procedure/loadstep"
	"govrig/rig/runlog"
	"govrig/sim/standin/board"
	"govrig/sim/standin/governor"
)

// What is read from a record is what the run had.
func TestLoadIsTheRun(t *testing.T) {
	b, dir := virtual(t)
	run, err := (&loadstep.Options{AtSpeeds: governed.AtEach("circuit")}).Run(context.Background(), b)
	require.NoError(t, err)
	rec, err := runlog.Open(dir)
	require.NoError(t, err)
	loaded, m, err := Load(rec)
	require.NoError(t, err)
	require.Equal(t, b.Machine.Name, m.Name)
	require.Equal(t, run.Result, loaded.Result)
	require.Equal(t, run.Setting, loaded.Setting)
	require.Equal(t, run.Identity, loaded.Identity)
	require.Equal(t, run.Found, loaded.Found)
	require.Equal(t, run.Trace.Phases, loaded.Course.Phases)
	require.Equal(t, run.Trace.Phase, loaded.Course.Phase)
	require.InDeltaSlice(t, run.Trace.Time, loaded.Course.Time, 1e-9)
	require.InDeltaSlice(t, run.Trace.Head, loaded.Course.Head, 0.0006)
	var pulses []execution.Pulse
	require.NoError(t, Lines(rec, Watch{Pulse: func(p Pulse) {
		if p.Line == Throttle {
			pulses = append(pulses, execution.Pulse{Start: float64(p.Start) / board.TickHz, Width: float64(p.Width) / board.TickHz})
		}
	}}))
	n := len(run.Trace.Pulses) // the answer to Stop can tell of another
	require.True(t, slices.Equal(run.Trace.Pulses, pulses[:n]))
}

// Phases whose orders were lost with the power get a name.
func TestLoadWithoutOrders(t *testing.T) {
	dir := recorded(t)
	require.NoError(t, os.Truncate(filepath.Join(dir, "script.jsonl"), 0))
	require.NoError(t, os.Remove(filepath.Join(dir, "end.json")))
	rec, err := runlog.Open(dir)
	require.NoError(t, err)
	run, _, err := Load(rec)
	require.NoError(t, err)
	require.Equal(t, phase.Key{Kind: "phase", Number: 1}, run.Course.Phases[0])
	require.Len(t, run.Course.Phases, run.Course.Phase[len(run.Course.Phase)-1]+1)
}

// A board whose clock is half a per cent fast: the trace is on true time.
func TestLoadIsOnTrueTime(t *testing.T) {
	b, dir := virtual(t)
	frames := 0
	b.Clock = func() time.Duration {
		frames++
		return time.Duration(float64(frames) * 2e6 / 1.005)
	}
	run, err := (&hold.Options{Time: 3}).Run(context.Background(), b)
	require.NoError(t, err)
	rec, err := runlog.Open(dir)
	require.NoError(t, err)
	require.InDelta(t, 0.005, rec.End.Clock.Fast, 5e-5)
	loaded, _, err := Load(rec)
	require.NoError(t, err)
	last := len(run.Trace.Time) - 1
	require.InDelta(t, run.Trace.Time[last], loaded.Course.Time[last], 2e-4)
	require.InDelta(t, run.Trace.Head[last], loaded.Course.Head[last], 0.05)
	require.InDelta(t, float64(rec.End.Ticks)/board.TickHz/1.005, loaded.Course.Time[last], 2e-3)
}

// Every edge that the virtual board makes on its pickup line, and every pulse
// that the governor makes, is among the pulses of the record, to the tick.
func TestPulsesAreTheEdgesOfTheLines(t *testing.T) {
	m := medium(t)
	g, err := governor.New(m.GovernorParams(board.TickHz), 0)
	require.NoError(t, err)
	active := !m.GovernorParams(board.TickHz).PickupLow
	var edges []int64
	b := &execution.Bench{Machine: m, Where: "virtual", StandIn: g, Board: board.New(board.Options{
		Governor: g, Watch: func(line governor.Line, tick int64, high bool) {
			if line == governor.Pickup && high == active {
				edges = append(edges, tick)
			}
		},
	})}
	dir := filepath.Join(t.TempDir(), "run")
	b.Record = func(info runlog.Info) (*runlog.Writer, error) { return runlog.Create(dir, info) }
	_, err = (&hold.Options{Time: 1}).Run(context.Background(), b)
	require.NoError(t, err)
	rec, err := runlog.Open(dir)
	require.NoError(t, err)
	var starts []int64
	zero := int64(-1)
	require.NoError(t, Lines(rec, Watch{Pulse: func(p Pulse) {
		if p.Line == Pickup {
			require.Zero(t, p.Unseen, "slower than telemetry")
			starts = append(starts, p.Start)
		}
	}}))
	require.NotEmpty(t, starts)
	zero = edges[0] - starts[0]
	require.Positive(t, zero)
	for i, start := range starts {
		require.Equal(t, edges[i]-zero, start)
	}
	require.LessOrEqual(t, len(edges)-len(starts), 1, "the last may come after the last frame")
}

// BenchmarkLoadHour reads the record of an hour at 500 Hz as a report does.
// live_MB is what the trace keeps.
func BenchmarkLoadHour(b *testing.B) {
	bench, dir := virtual(b)
	_, err := (&hold.Options{AtSpeeds: governed.AtEach("hover"), Time: 1795}).Run(context.Background(), bench)
	require.NoError(b, err)
	rec, err := runlog.Open(dir)
	require.NoError(b, err)
	require.Greater(b, rec.End.Samples, int64(1_790_000))
	b.ReportAllocs()
	var run *execution.Run
	for b.Loop() {
		run, _, err = Load(rec)
		require.NoError(b, err)
	}
	runtime.GC()
	var memory runtime.MemStats
	runtime.ReadMemStats(&memory)
	b.ReportMetric(float64(memory.HeapAlloc)/1e6, "live_MB")
	b.ReportMetric(run.Course.Time[len(run.Course.Time)-1]/3600, "hours")
}
