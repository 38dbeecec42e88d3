package loadstep

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/rig"
	"govrig/rig/measure"
	"govrig/rig/procedure/hold"
	"govrig/rig/procedure/proceduretest"
	"govrig/rig/runlog"
	"govrig/sim/standin/governor"
)

func TestLoadStepTakesEveryMeasure(t *testing.T) {
	m := proceduretest.Medium(t)
	r, err := (&Options{Speed: "circuit"}).Run(context.Background(), proceduretest.Bench(t, m, nil))
	require.NoError(t, err)
	require.Equal(t, measure.Pass, r.Result.Outcome, "%+v", r.Result)
	require.True(t, r.Result.Virtual)
	for _, measured := range r.Result.Measures {
		require.NotNil(t, measured.Value, measured.Name)
	}
	// The governor's step is 25 rpm; the select width that asks for 1660 rpm
	// at the head is given to a tick, so the governed speed is a step at most
	// half of that away from 14 386.7 rpm.
	require.InDelta(t, 1660*78.0/9, proceduretest.Value(t, r, "governed_speed"), 12.5+3)
	require.InDelta(t, proceduretest.Value(t, r, "governed_speed")*9/78, proceduretest.Value(t, r, "head_speed"), 0.2)
	require.Less(t, proceduretest.Value(t, r, "transient_deviation_load_on"), -1.0)
	require.Greater(t, proceduretest.Value(t, r, "transient_deviation_load_off"), 1.0)
}

func TestHold(t *testing.T) {
	r, err := (&hold.Options{Time: 3}).Run(context.Background(), proceduretest.Bench(t, proceduretest.Medium(t), nil))
	require.NoError(t, err)
	require.Equal(t, measure.Pass, r.Result.Outcome)
	require.Equal(t, "hover", r.Setting.Name, "the first setting of the file")
	require.Nil(t, r.Result.Find("recovery_time_load_on"))
}

// More gain, less dip.
func TestMoreGainDipsLess(t *testing.T) {
	m := proceduretest.Medium(t)
	var dips []float64
	for _, factor := range []float64{0.5, 1, 1.5} {
		b := proceduretest.Bench(t, m, func(p *governor.Params) { p.Gain *= factor })
		r, err := (&Options{}).Run(context.Background(), b)
		require.NoError(t, err)
		dips = append(dips, proceduretest.Value(t, r, "transient_deviation_load_on"))
	}
	require.IsIncreasing(t, dips)
}

// A governor that takes every pickup for a failed one keeps the throttle shut:
// nothing of the load step can be measured, and the reason is given.
func TestGovernorThatNeverTakesUp(t *testing.T) {
	b := proceduretest.Bench(t, proceduretest.Medium(t), func(p *governor.Params) { p.LossTime = 1e-3 })
	r, err := (&Options{}).Run(context.Background(), b)
	require.NoError(t, err)
	require.Equal(t, measure.NotRun, r.Result.Outcome)
	for _, name := range []string{"governed_speed", "transient_deviation_load_on"} {
		require.Equal(t, measure.NotRun, r.Result.Find(name).Outcome)
		require.Contains(t, r.Result.Find(name).Warnings[0], "did not become steady")
	}
}

func TestUnknownSpeed(t *testing.T) {
	_, err := (&Options{Speed: "warp"}).Run(context.Background(), proceduretest.Bench(t, proceduretest.Medium(t), nil))
	require.ErrorContains(t, err, `"warp"`)
	require.ErrorContains(t, err, `"hover"`)
}

func TestStoppedRunIsKeptAndTheBoardIsSafe(t *testing.T) {
	for _, after := range []int{1, 100, 1000, 6000} {
		b := proceduretest.Bench(t, proceduretest.Medium(t), nil)
		var last protocol.Telemetry
		b.Board = &proceduretest.Tap{ReadWriteCloser: b.Board, Each: func(m []byte) { _ = last.Parse(m) }}
		dir := filepath.Join(t.TempDir(), "run")
		proceduretest.Recording(b, dir)
		ctx, stop := context.WithCancel(context.Background())
		n := 0
		b.Progress = func(string, *runlog.Sample) {
			if n++; n == after {
				stop()
			}
		}
		r, err := (&Options{}).Run(ctx, b)
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
		b := proceduretest.Bench(t, proceduretest.Medium(t), nil)
		b.Board = &cut{ReadWriteCloser: b.Board, left: 3000, err: err}
		dir := filepath.Join(t.TempDir(), "run")
		proceduretest.Recording(b, dir)
		r, err := (&Options{}).Run(context.Background(), b)
		require.ErrorIs(t, err, want)
		require.Equal(t, measure.Error, r.Result.Outcome, "an error of the rig is not a fail of the governor")
		kept, err := runlog.Open(dir)
		require.NoError(t, err)
		require.Equal(t, runlog.Error, kept.Reason())
		require.NotEmpty(t, kept.End.Error)
	}
}

func TestRecordThatCannotBeMade(t *testing.T) {
	b := proceduretest.Bench(t, proceduretest.Medium(t), nil)
	proceduretest.Recording(b, filepath.Join(t.TempDir(), "no\x00name"))
	r, err := (&Options{}).Run(context.Background(), b)
	require.Error(t, err)
	require.Equal(t, measure.Error, r.Result.Outcome)
}

// BenchmarkLoadStep is a whole load step of the medium machine on the virtual board,
// measures and all.
func BenchmarkLoadStep(b *testing.B) {
	m := proceduretest.Medium(b)
	m.LoadStep.Hold = 17 // s: with idle and spool-up, a run of 60 s
	b.ReportAllocs()
	for b.Loop() {
		r, err := (&Options{}).Run(context.Background(), proceduretest.Bench(b, m, nil))
		require.NoError(b, err)
		b.ReportMetric(r.Trace.Time[len(r.Trace.Time)-1], "s_simulated")
	}
}

// An engine too weak for the heavy load is named with the keys of the file, and the
// governor's droop is not blamed; where the engine can and the governor sags, it is.
func TestAWeakEngineIsNotTheGovernorsDroop(t *testing.T) {
	for _, c := range []struct {
		old, new    string
		quirk       func(*governor.Params)
		weak, droop bool
	}{
		{"collective_high: 6.5°", "collective_high: 11.5°", nil, true, false},
		{"collective_high: 6.5°", "collective_high: 6.5°", func(p *governor.Params) { p.IntegralTime = 0 }, false, true},
		{"collective_high: 6.5°", "collective_high: 7°", nil, false, false},
	} {
		m := proceduretest.Spoilt(t, c.old, c.new)
		r, err := (&Options{Speed: "circuit", Brief: true}).Run(context.Background(), proceduretest.Bench(t, m, c.quirk))
		require.NoError(t, err)
		words := proceduretest.Words(r)
		require.Equal(t, c.weak, strings.Contains(words, "engine is too weak"), words)
		require.Equal(t, c.weak, strings.Contains(words, "engine.mean_effective_pressure"), words)
		require.Equal(t, c.droop, strings.Contains(words, "does not bring it back"), words)
	}
}
