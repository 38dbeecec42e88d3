package rig

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/rig/runlog"
	"govrig/sim/standin/board"
)

// changing has all that makes a look ahead wrong: a governor that moves the
// throttle, loads, sways, a phase that ends when the engine is steady, and, by
// change, phases that come at the last moment and phases that are cut.
func changing() Script {
	script := loadStep()
	script.Phases[1].Steps = seconds(40)
	script.Phases[1].Settle = &Settle{Above: 10_000 * perRPM, Band: 0.005, For: seconds(2)}
	script.Phases[2].Sway = []Sine{{Amplitude: 12, Frequency: 1. / 900}, {Amplitude: 7, Frequency: 1. / 170, Phase: 0.3}}
	script.Phases[3].Steps = seconds(0.1)
	return script
}

func change(loop *Loop, frame int) {
	if frame > 6_000 && frame < 9_000 && frame%5 == 0 {
		loop.Append(Phase{Steps: 40, Stick: 1600 * time.Microsecond, Select: 1420 * time.Microsecond, Collective: 0.1 * float64(frame%3)})
	}
	if frame > 6_000 && frame%101 == 0 {
		loop.Cut()
	}
}

// A look ahead that goes on from frame to frame orders what one that begins anew
// at each frame does, byte for byte.
func TestLookAheadGoesOnAsIfBegunAnew(t *testing.T) {
	session, err := Open(context.Background(), virtual(t, 0), Settings{SafeStick: 1100 * time.Microsecond})
	require.NoError(t, err)
	dir := t.TempDir() + "/run"
	record, err := runlog.Create(dir, runlog.Info{TickHz: board.TickHz})
	require.NoError(t, err)
	loop, frames, went := NewLoop(setup(), changing()), 0, 0
	require.NoError(t, session.Run(context.Background(), loop, record, func(*runlog.Sample) {
		if loop.future.holds {
			went++
		}
		frames++
		change(loop, frames)
	}))
	require.NoError(t, session.Close())
	require.NoError(t, record.Close(runlog.End{Reason: runlog.Complete}))
	require.Greater(t, went, frames/2)

	kept, err := runlog.Open(dir)
	require.NoError(t, err)
	anew, played, drives := NewLoop(setup(), changing()), 0, 0
	var telemetry protocol.Telemetry
	var drive protocol.Drive
	require.NoError(t, kept.Messages(func(m runlog.Message) bool {
		switch m.Bytes[0] {
		case protocol.EdgesID:
			require.NoError(t, anew.edges.Parse(m.Bytes))
		case protocol.TelemetryID:
			anew.future.holds = false
			require.NoError(t, telemetry.Parse(m.Bytes))
			require.NoError(t, anew.Step(&telemetry, &drive))
		case protocol.DriveID:
			require.Equal(t, m.Bytes, drive.AppendTo(nil))
			if drive.Flags&protocol.DrivePlay != 0 {
				played++
			}
			drives++
			change(anew, drives)
		}
		return drives < frames
	}))
	require.Equal(t, frames, drives)
	require.Greater(t, played, 8_000)
}
