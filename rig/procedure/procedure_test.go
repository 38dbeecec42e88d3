package procedure

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/protocol/frame"
	"govrig/rig"
	"govrig/rig/measure"
	"govrig/rig/record/runlog"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
	"govrig/sim/standin/governor"
)

func trainer(t testing.TB) *machine.Machine {
	m, err := machine.Load("../../testdata/machines/trainer-15cc.yaml")
	require.NoError(t, err)
	return m
}

// bench is a virtual bench; change may alter the stand-in governor.
func bench(t testing.TB, m *machine.Machine, change func(*governor.Params)) *Bench {
	p := m.GovernorParams(board.TickHz)
	if change != nil {
		change(&p)
	}
	g, err := governor.New(p, 0)
	require.NoError(t, err)
	return &Bench{Machine: m, Board: board.New(board.Options{Governor: g}), Where: "virtual", StandIn: g}
}

func value(t *testing.T, r *Run, name string) float64 {
	m := r.Result.Find(name)
	require.NotNil(t, m, name)
	require.NotNil(t, m.Value, "%s: %v", name, m.Warnings)
	return *m.Value
}

func TestLoadStepTakesEveryMeasure(t *testing.T) {
	m := trainer(t)
	r, err := LoadStep(context.Background(), bench(t, m, nil), LoadStepOptions{Speed: "circuit"})
	require.NoError(t, err)
	require.Equal(t, measure.Pass, r.Result.Outcome, "%+v", r.Result)
	require.True(t, r.Result.Virtual)
	for _, measured := range r.Result.Measures {
		require.NotNil(t, measured.Value, measured.Name)
	}
	// The governor's step is 25 rpm; the select width that asks for 1660 rpm
	// at the head is given to a tick, so the governed speed is a step at most
	// half of that away from 14 386.7 rpm.
	require.InDelta(t, 1660*78.0/9, value(t, r, "governed_speed"), 12.5+3)
	require.InDelta(t, value(t, r, "governed_speed")*9/78, value(t, r, "head_speed"), 0.2)
	require.Less(t, value(t, r, "transient_deviation_load_on"), -1.0)
	require.Greater(t, value(t, r, "transient_deviation_load_off"), 1.0)
}

func TestHold(t *testing.T) {
	r, err := Hold(context.Background(), bench(t, trainer(t), nil), HoldOptions{Time: 3})
	require.NoError(t, err)
	require.Equal(t, measure.Pass, r.Result.Outcome)
	require.Equal(t, "hover", r.Setting.Name, "the first setting of the file")
	require.Nil(t, r.Result.Find("recovery_time_load_on"))
}

// More gain, less dip.
func TestMoreGainDipsLess(t *testing.T) {
	m := trainer(t)
	var dips []float64
	for _, factor := range []float64{0.5, 1, 1.5} {
		b := bench(t, m, func(p *governor.Params) { p.Gain *= factor })
		r, err := LoadStep(context.Background(), b, LoadStepOptions{})
		require.NoError(t, err)
		dips = append(dips, value(t, r, "transient_deviation_load_on"))
	}
	require.IsIncreasing(t, dips)
}

// A governor that takes every pickup for a failed one keeps the throttle shut:
// nothing of the load step can be measured, and the reason is given.
func TestGovernorThatNeverTakesUp(t *testing.T) {
	b := bench(t, trainer(t), func(p *governor.Params) { p.LossTime = 1e-3 })
	r, err := LoadStep(context.Background(), b, LoadStepOptions{})
	require.NoError(t, err)
	require.Equal(t, measure.NotRun, r.Result.Outcome)
	for _, name := range []string{"governed_speed", "transient_deviation_load_on"} {
		require.Equal(t, measure.NotRun, r.Result.Find(name).Outcome)
		require.Contains(t, r.Result.Find(name).Warnings[0], "did not become steady")
	}
}

func TestUnknownSpeed(t *testing.T) {
	_, err := LoadStep(context.Background(), bench(t, trainer(t), nil), LoadStepOptions{Speed: "warp"})
	require.ErrorContains(t, err, `"warp"`)
	require.ErrorContains(t, err, `"hover"`)
}

// recording keeps the record in dir.
func recording(b *Bench, dir string) {
	b.Record = func(info runlog.Info) (*runlog.Writer, error) { return runlog.Create(dir, info) }
}

func TestStoppedRunIsKeptAndTheBoardIsSafe(t *testing.T) {
	for _, after := range []int{1, 100, 1000, 6000} {
		b := bench(t, trainer(t), nil)
		var last protocol.Telemetry
		b.Board = &tap{ReadWriteCloser: b.Board, each: func(m []byte) { _ = last.Parse(m) }}
		dir := filepath.Join(t.TempDir(), "run")
		recording(b, dir)
		ctx, stop := context.WithCancel(context.Background())
		n := 0
		b.Progress = func(string, *runlog.Sample) {
			if n++; n == after {
				stop()
			}
		}
		r, err := LoadStep(ctx, b, LoadStepOptions{})
		require.ErrorIs(t, err, context.Canceled)
		require.Equal(t, measure.NotRun, r.Result.Outcome)
		require.NotZero(t, last.Flags&protocol.TelemetrySafe, "the last word of the board is that it is safe")
		kept, err := runlog.Open(dir)
		require.NoError(t, err)
		require.Equal(t, runlog.Stopped, kept.Reason())
		messages := 0
		require.NoError(t, kept.Messages(func(runlog.Message) bool { messages++; return true }))
		require.GreaterOrEqual(t, messages, after)
	}
}

// tap shows each frame from the board to each.
type tap struct {
	io.ReadWriteCloser
	d    frame.Decoder
	each func([]byte)
}

func (t *tap) Read(p []byte) (int, error) {
	n, err := t.ReadWriteCloser.Read(p)
	for _, c := range p[:n] {
		if m, ok := t.d.Next(c); ok {
			t.each(m)
		}
	}
	return n, err
}

// cut is a board whose wire breaks after some reads.
type cut struct {
	io.ReadWriteCloser
	left int
	err  error
}

func (c *cut) Read(p []byte) (int, error) {
	if c.left--; c.left < 0 {
		return 0, c.err
	}
	return c.ReadWriteCloser.Read(p)
}

func TestLinkLostInMidRun(t *testing.T) {
	gone := errors.New("gone")
	for want, err := range map[error]error{gone: gone, rig.ErrSilent: os.ErrDeadlineExceeded} {
		b := bench(t, trainer(t), nil)
		b.Board = &cut{ReadWriteCloser: b.Board, left: 3000, err: err}
		dir := filepath.Join(t.TempDir(), "run")
		recording(b, dir)
		r, err := LoadStep(context.Background(), b, LoadStepOptions{})
		require.ErrorIs(t, err, want)
		require.Equal(t, measure.Error, r.Result.Outcome, "an error of the rig is not a fail of the governor")
		kept, err := runlog.Open(dir)
		require.NoError(t, err)
		require.Equal(t, runlog.Error, kept.Reason())
		require.NotEmpty(t, kept.End.Error)
	}
}

func TestRecordThatCannotBeMade(t *testing.T) {
	b := bench(t, trainer(t), nil)
	recording(b, filepath.Join(t.TempDir(), "no\x00name"))
	r, err := LoadStep(context.Background(), b, LoadStepOptions{})
	require.Error(t, err)
	require.Equal(t, measure.Error, r.Result.Outcome)
}

// BenchmarkLoadStep is a whole load step of the trainer on the virtual board,
// measures and all.
func BenchmarkLoadStep(b *testing.B) {
	m := trainer(b)
	m.LoadStep.Hold = 17 // s: with idle and spool-up, a run of 60 s
	b.ReportAllocs()
	for b.Loop() {
		r, err := LoadStep(context.Background(), bench(b, m, nil), LoadStepOptions{})
		require.NoError(b, err)
		b.ReportMetric(r.Trace.Time[len(r.Trace.Time)-1], "s_simulated")
	}
}
