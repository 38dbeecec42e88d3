package runlog_test

import (
	"context"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/protocol/frame"
	"govrig/rig"
	"govrig/rig/runlog"
	"govrig/sim/heli"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
)

// stopwatch measures how long the host takes from a frame to its answer. With
// a pace, frames come that far apart in real time.
type stopwatch struct {
	io.ReadWriteCloser
	pace  time.Duration
	next  time.Time
	from  time.Time
	taken []time.Duration
}

func (s *stopwatch) Read(p []byte) (int, error) {
	if s.pace > 0 {
		time.Sleep(time.Until(s.next))
		s.next = s.next.Add(s.pace)
	}
	n, err := s.ReadWriteCloser.Read(p)
	s.from = time.Now()
	return n, err
}

func (s *stopwatch) Write(p []byte) (int, error) {
	s.taken = append(s.taken, time.Since(s.from))
	return s.ReadWriteCloser.Write(p)
}

// BenchmarkLoop is the loop on the virtual board, one frame an operation,
// without a record and with one; at the pace of a real board and as fast as it
// goes. answer_p50_µs and answer_p999_µs are the time from a frame to its
// answer; their difference is the jitter.
func BenchmarkLoop(b *testing.B) {
	for _, pace := range []time.Duration{0, 2 * time.Millisecond} {
		for _, keep := range []bool{false, true} {
			b.Run(fmt.Sprintf("pace=%v/record=%v", pace, keep), func(b *testing.B) { benchmarkLoop(b, pace, keep) })
		}
	}
}

func benchmarkLoop(b *testing.B, pace time.Duration, keep bool) {
	m, err := machine.Load("../../testdata/machines/medium-15cc.yaml")
	require.NoError(b, err)
	clock := &stopwatch{ReadWriteCloser: board.New(board.Options{}), pace: pace, next: time.Now()}
	session, err := rig.Open(context.Background(), clock, rig.Settings{})
	require.NoError(b, err)
	var w *runlog.Writer
	if keep {
		w, err = runlog.Create(filepath.Join(b.TempDir(), "run"), runlog.Info{TickHz: board.TickHz, Lockstep: pace == 0})
		require.NoError(b, err)
	}
	const step = 4_000 // ticks
	loop := rig.NewLoop(rig.Setup{
		Plant: heli.New(m.HeliParams(), step/16e6), StepTicks: step, TickRate: board.TickHz, Magnets: 1,
	}, rig.Script{Phases: []rig.Phase{{Steps: int64(b.N) * 8, Collective: 0.02}}})
	clock.taken = make([]time.Duration, 0, b.N+100)
	runtime.GC()
	b.ReportAllocs()
	b.ResetTimer()
	require.NoError(b, session.Run(context.Background(), loop, w, func(*runlog.Sample) {}))
	b.StopTimer()
	slices.Sort(clock.taken)
	for name, share := range map[string]float64{"answer_p50_µs": 0.5, "answer_p999_µs": 0.999} {
		b.ReportMetric(float64(clock.taken[int(share*float64(len(clock.taken)-1))])/1e3, name)
	}
	require.NoError(b, session.Close())
	require.NoError(b, w.Close(runlog.End{}))
}

// BenchmarkHour reads a one-hour record at 500 Hz as a report does: every
// sample, and every message for the throttle pulses. peak_MB is the memory in
// use.
func BenchmarkHour(b *testing.B) {
	dir, size := hour(b)
	b.ReportAllocs()
	for b.Loop() {
		rec, err := runlog.Open(dir)
		require.NoError(b, err)
		highest, samples, messages := 0.0, 0, 0
		require.NoError(b, rec.Samples(func(s *runlog.Sample) bool {
			highest = math.Max(highest, s.State.EngineSpeed)
			samples++
			return true
		}))
		require.NoError(b, rec.Messages(func(runlog.Message) bool { messages++; return true }))
		require.Equal(b, 1_800_000, samples)
		require.Equal(b, 3_600_000, messages)
	}
	var memory runtime.MemStats
	runtime.ReadMemStats(&memory)
	b.ReportMetric(float64(memory.Sys)/1e6, "peak_MB")
	b.ReportMetric(float64(size)/1e6, "record_MB")
}

// hour makes a record of an hour and gives its folder and its size.
func hour(b *testing.B) (dir string, size int64) {
	dir = filepath.Join(b.TempDir(), "run")
	w, err := runlog.Create(dir, runlog.Info{TickHz: board.TickHz, Lockstep: true})
	require.NoError(b, err)
	step := frameByFrame(w)
	for i := range int64(1_800_000) {
		step(i)
	}
	require.NoError(b, w.Close(runlog.End{Reason: runlog.Complete}))
	entries, err := os.ReadDir(dir)
	require.NoError(b, err)
	for _, e := range entries {
		info, err := e.Info()
		require.NoError(b, err)
		size += info.Size()
	}
	return dir, size
}

// frameByFrame gives a function that keeps the i-th frame of a run, its answer
// and its sample.
func frameByFrame(w *runlog.Writer) func(i int64) {
	line := &source{}
	tap := runlog.NewTap(line)
	tap.Keep(w)
	var in [512]byte
	return func(i int64) {
		t := protocol.Telemetry{Ticks: uint32(i * 32_000), Flags: protocol.TelemetryPlaying, PickupTicks: uint32(i*32_000) & 0xFFFFFF}
		if i%7 == 0 {
			t.PulsesLen = 1
		}
		line.frame = frame.Append(line.frame[:0], t.AppendTo(line.message[:0]))
		_, _ = tap.Read(in[:])
		d := protocol.Drive{EdgeTicks: t.Ticks, PeriodTicks: 74_000, StickTicks: 24_000, SelectTicks: 22_000}
		line.frame = frame.Append(line.frame[:0], d.AppendTo(line.message[:0]))
		_, _ = tap.Write(line.frame)
		s := runlog.Sample{Ticks: i * 32_000, Throttle: 1.5e-3, Stick: 1_500_000, Select: 1_382_667}
		s.State.EngineSpeed, s.State.HeadSpeed, s.State.Opening, s.Played = 1_340.25, 155.1, 0.31, 1_340.25
		w.Sample(&s)
	}
}

// source gives one frame at a time.
type source struct {
	frame   []byte
	message [protocol.MaxPayload]byte
}

func (s *source) Read(b []byte) (int, error)  { return copy(b, s.frame), nil }
func (s *source) Write(b []byte) (int, error) { return len(b), nil }
func (s *source) Close() error                { return nil }
