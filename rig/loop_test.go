package rig

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/rig/internal/flywheel"
	"govrig/rig/runlog"
	"govrig/sim"
	"govrig/sim/standin/board"
	"govrig/sim/standin/governor"
)

const (
	stepTicks = 4_000
	perRPM    = 2 * math.Pi / 60
)

func standIn() governor.Params {
	return governor.Params{
		TickRate: board.TickHz, PulsesPerTurn: 1,
		ThrottleClosed: 1.1e-3, ThrottleOpen: 1.9e-3, FrameRate: 71, OutputStep: 2e-6,
		SelectLow: 1.1e-3, SelectHigh: 1.9e-3, SpeedLow: 12_000 * perRPM, SpeedHigh: 18_000 * perRPM,
		ArmOn: 0.31, ArmOff: 0.27, ArmSpeed: 2_000 * perRPM, SpoolRate: 2_000 * perRPM,
		Gain: 0.002, IntegralTime: 0.8, LossTime: 0.3,
	}
}

func plant() sim.Plant {
	return flywheel.New(flywheel.Params{
		Inertia: 8e-4, Torque: 1.2, Load: 4, Drag: 2e-4, Closed: 1.1e-3, Open: 1.9e-3, Ratio: 26. / 3, Speed: 3_000 * perRPM,
	}, float64(stepTicks)/board.TickHz)
}

func seconds(s float64) int64 { return int64(s * board.TickHz / stepTicks) }

func loadStep() Script {
	const stick, sel = 1600 * time.Microsecond, 1420 * time.Microsecond
	return Script{Phases: []Phase{
		{Name: "idle", Steps: seconds(1), Stick: 1100 * time.Microsecond, Select: sel},
		{Name: "spool", Steps: seconds(9), Stick: stick, Select: sel, Collective: 0.03},
		{Name: "loaded", Steps: seconds(5), Stick: stick, Select: sel, Collective: 0.13, Ramp: 200},
		{Name: "unloaded", Steps: seconds(5), Stick: stick, Select: sel, Collective: 0.03, Ramp: 200},
	}}
}

func setup() Setup {
	return Setup{Plant: plant(), StepTicks: stepTicks, TickRate: board.TickHz, Magnets: 1}
}

func virtual(t testing.TB, start int64) *board.Board {
	g, err := governor.New(standIn(), start)
	require.NoError(t, err)
	return board.New(board.Options{Governor: g, Start: start})
}

// run plays a script on the virtual board.
func run(t testing.TB, start int64, script Script, record *runlog.Writer) (*Loop, []runlog.Sample) {
	session, err := Open(context.Background(), virtual(t, start), Settings{SafeStick: 1100 * time.Microsecond})
	require.NoError(t, err)
	loop := NewLoop(setup(), script)
	var samples []runlog.Sample
	err = session.Run(context.Background(), loop, record, func(s *runlog.Sample) { samples = append(samples, *s) })
	require.NoError(t, err)
	require.NoError(t, session.Close())
	return loop, samples
}

func TestTheLoopGoverns(t *testing.T) {
	loop, samples := run(t, 0, loadStep(), nil)
	want := (12_000 + 6_000*0.4) * perRPM
	lowest := math.Inf(1)
	for _, s := range samples {
		at := float64(s.Ticks) / board.TickHz
		if at > 9 && at < 10 || at > 14 && at < 15 || at > 19 {
			require.InDelta(t, want, s.State.EngineSpeed, 0.005*want, "at %g s", at)
		}
		if at > 10 && at < 15 {
			lowest = math.Min(lowest, s.State.EngineSpeed)
		}
	}
	require.Less(t, lowest, 0.995*want, "the load makes a dip")
	require.Greater(t, lowest, 0.8*want, "the dip is held")
	h := loop.Health()
	require.Zero(t, h.LateFrames+h.FramesLost+h.BadFrames+h.LateEdges+h.LostCaptures)
	require.Greater(t, h.Intervals, int64(3_000))
	require.Less(t, h.IntervalRMS(), 0.0002)
	require.Less(t, h.WorstInterval, 0.001)
	require.Equal(t, h.Frames-1, h.Delays)
	require.Less(t, h.LoopDelay(), 1.1e-3*board.TickHz)
}

// The same run, with the board's 32-bit tick wrapping in the middle of it,
// gives the same samples.
func TestTickWrapChangesNothing(t *testing.T) {
	_, plain := run(t, 0, loadStep(), nil)
	_, wrapped := run(t, 1<<32-10*board.TickHz, loadStep(), nil)
	require.Equal(t, plain, wrapped)
}

// Replaying the telemetry of a run gives the same drives, byte for byte.
func TestReplayGivesTheSameDrives(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "run")
	record, err := runlog.Create(dir, runlog.Info{TickHz: board.TickHz, Procedure: "test"})
	require.NoError(t, err)
	run(t, 0, loadStep(), record)
	require.NoError(t, record.Close(runlog.End{Reason: runlog.Complete}))

	kept, err := runlog.Open(dir)
	require.NoError(t, err)
	require.Equal(t, runlog.Complete, kept.Reason())
	loop := NewLoop(setup(), loadStep())
	var telemetry protocol.Telemetry
	var drive protocol.Drive
	drives := 0
	require.NoError(t, kept.Messages(func(m runlog.Message) bool {
		switch m.Bytes[0] {
		case protocol.TelemetryID:
			require.NoError(t, telemetry.Parse(m.Bytes))
			require.NoError(t, loop.Step(&telemetry, &drive))
		case protocol.DriveID:
			require.Equal(t, m.Bytes, drive.AppendTo(nil))
			drives++
		}
		return true
	}))
	require.Greater(t, drives, 9_000)
}

// A second loop of the same session goes on from the moment of the first.
func TestMomentsGoOnFromLoopToLoop(t *testing.T) {
	session, err := Open(context.Background(), virtual(t, 0), Settings{})
	require.NoError(t, err)
	last := int64(-1)
	for range 2 {
		loop := NewLoop(setup(), Script{Phases: loadStep().Phases[:1]})
		require.NoError(t, session.Run(context.Background(), loop, nil, func(s *runlog.Sample) {
			require.Greater(t, s.Ticks, last)
			last = s.Ticks
			for _, c := range loop.Captured() {
				require.InDelta(t, last, c.Start, 0.1*board.TickHz)
			}
		}))
	}
	require.InDelta(t, 2*board.TickHz, last, 0.01*board.TickHz)
	require.NoError(t, session.Close())
}

// A phase with a Settle ends once the governor holds, and not in the plateau of
// idling before; the phases behind it start earlier then.
func TestPhaseEndsWhenSteady(t *testing.T) {
	script := loadStep()
	script.Phases[1].Steps = seconds(40)
	script.Phases[1].Settle = &Settle{Above: 10_000 * perRPM, Band: 0.005, For: seconds(2)}
	loop, samples := run(t, 0, script, nil)
	require.Empty(t, loop.Unsettled())
	var began float64
	for _, s := range samples {
		if s.Phase == 2 {
			began = float64(s.Ticks) / board.TickHz
			break
		}
	}
	require.Greater(t, began, 1+5.7+2.0) // 11 400 rpm at 2000 rpm/s, and 2 s steady
	require.Less(t, began, 16.0)
}

func TestNeverSteadyEndsTheRun(t *testing.T) {
	script := loadStep()
	script.Phases[1].Steps = seconds(4)
	script.Phases[1].Settle = &Settle{Above: 10_000 * perRPM, Band: 0.005, For: seconds(2)}
	loop, samples := run(t, 0, script, nil)
	require.Equal(t, "spool", loop.Unsettled())
	require.Less(t, samples[len(samples)-1].Ticks, int64(5.1*board.TickHz))
}

// A host that stalls for half a second knows the passes of before no more. The
// interval over the stall is left out; it is not taken for infinitely wrong.
func TestStallDoesNotSpoilTheIntervals(t *testing.T) {
	loop, step := benchmarkLoop(t)
	for range 5_000 {
		step()
	}
	var d protocol.Drive
	next := protocol.Telemetry{Flags: protocol.TelemetryPlaying | protocol.TelemetryDriven}
	before := loop.Health()
	for i := range 40 {
		next.Ticks = uint32(loop.now) + 32_000
		if i%10 == 0 {
			next.Ticks += 8_000_000
			next.PickupCount += 100
		}
		next.PickupCount++
		next.PickupTicks = (next.Ticks - 3_000) & 0xFFFFFF
		require.NoError(t, loop.Step(&next, &d))
	}
	h := loop.Health()
	require.False(t, math.IsInf(h.WorstInterval, 0) || math.IsNaN(h.SquareSum))
	require.GreaterOrEqual(t, h.Intervals, before.Intervals)
}

func TestBackwardsClockIsNamed(t *testing.T) {
	loop := NewLoop(setup(), loadStep())
	var d protocol.Drive
	require.NoError(t, loop.Step(&protocol.Telemetry{Ticks: 1_000_000}, &d))
	require.ErrorIs(t, loop.Step(&protocol.Telemetry{Ticks: 10}, &d), ErrBackwards)
}

func TestStandstillPlaysNoPulses(t *testing.T) {
	s := setup()
	s.Plant = flywheel.New(flywheel.Params{Inertia: 1, Drag: 1, Closed: 1, Open: 2, Ratio: 1, Speed: 1}, 250e-6)
	loop := NewLoop(s, loadStep())
	d := protocol.Drive{Flags: protocol.DrivePlay}
	require.NoError(t, loop.Step(&protocol.Telemetry{}, &d))
	require.Zero(t, d.Flags&protocol.DrivePlay)
}

func TestCancelledRunStopsTheBoard(t *testing.T) {
	b := virtual(t, 0)
	session, err := Open(context.Background(), b, Settings{})
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	n := 0
	err = session.Run(ctx, NewLoop(setup(), loadStep()), nil, func(*runlog.Sample) {
		if n++; n == 700 {
			cancel()
		}
	})
	require.ErrorIs(t, err, context.Canceled)
	require.NoError(t, session.Close())
}

func TestRefusedSettings(t *testing.T) {
	_, err := Open(context.Background(), virtual(t, 0), Settings{Failsafe: time.Microsecond})
	var refused *RefusedError
	require.ErrorAs(t, err, &refused)
	require.ErrorContains(t, err, "failsafe")
}

// quiet is a port on which nothing answers.
type quiet struct{}

func (quiet) Read([]byte) (int, error)    { return 0, os.ErrDeadlineExceeded }
func (quiet) Write(p []byte) (int, error) { return len(p), nil }
func (quiet) Close() error                { return nil }

func TestNothingAnswers(t *testing.T) {
	_, err := Open(context.Background(), quiet{}, Settings{})
	require.ErrorIs(t, err, ErrNoAnswer)
}

func TestLoopStepDoesNotAllocate(t *testing.T) {
	_, n := benchmarkLoop(t)
	require.Zero(t, testing.AllocsPerRun(500, n))
}

// benchmarkLoop gives a loop in mid flight and a function that does one step
// of it: decode, plant to the next frame, encode.
func benchmarkLoop(t testing.TB) (*Loop, func()) {
	script := loadStep()
	script.Phases[len(script.Phases)-1].Steps = math.MaxInt64 / 2
	loop := NewLoop(setup(), script)
	var telemetry protocol.Telemetry
	var drive protocol.Drive
	frame := make([]byte, 0, protocol.MaxPayload)
	out := make([]byte, 0, protocol.MaxPayload)
	in := protocol.Telemetry{PulsesLen: 1, Flags: protocol.TelemetryDriven | protocol.TelemetryPlaying}
	return loop, func() {
		in.Ticks += 32_000
		in.Pulses[0] = protocol.Pulse{StartTicks: (in.Ticks - 30_000) & 0xFFFFFF, WidthTicks: 22_000}
		in.AppliedDrive = drive.Sequence
		frame = in.AppendTo(frame[:0])
		if telemetry.Parse(frame) != nil || loop.Step(&telemetry, &drive) != nil {
			t.Fatal("step failed")
		}
		out = drive.AppendTo(out[:0])
	}
}

func BenchmarkLoopStep(b *testing.B) {
	_, step := benchmarkLoop(b)
	for range 5_000 {
		step()
	}
	b.ReportAllocs()
	for b.Loop() {
		step()
	}
}

// BenchmarkVirtualRun is a whole 60 s load step on the virtual board.
func BenchmarkVirtualRun(b *testing.B) {
	script := loadStep()
	script.Phases[3].Steps = seconds(45)
	b.ReportAllocs()
	for b.Loop() {
		session, err := Open(context.Background(), virtual(b, 0), Settings{})
		require.NoError(b, err)
		require.NoError(b, session.Run(context.Background(), NewLoop(setup(), script), nil, func(*runlog.Sample) {}))
		require.NoError(b, session.Close())
	}
}
