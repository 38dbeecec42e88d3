package rig

import (
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/sim/standin/board"
	"govrig/sim/turntable"
)

// Pulses begin, whenever and however fast, with an edge that the board has time
// for; before it none is ordered. An edge as near as the order takes to arrive
// was made late by the firmware.
func TestPlayBeginsWithTimeToSpare(t *testing.T) {
	for _, speed := range []float64{20, 300, 1_800, 9_000} { // rad/s
		for muted := int64(20); muted < 60; muted += 3 {
			turn := turntable.New(float64(stepTicks) / board.TickHz)
			loop := NewLoop(Setup{Plant: turn, StepTicks: stepTicks, TickRate: board.TickHz, Magnets: 1}, Script{Phases: []Phase{
				{Steps: muted, Mute: true, Turn: speed}, {Steps: 1_000, Turn: speed},
			}})
			var drive protocol.Drive
			started := int64(-1)
			for now := int64(0); !loop.Done(); now += 32_000 {
				applied := protocol.Telemetry{
					Ticks: uint32(now), Flags: protocol.TelemetryDriven,
					AppliedDrive: drive.Sequence, AppliedTicks: uint32(now-16_000) & 0xFFFFFF, // 1 ms after it was asked for
				}
				require.NoError(t, loop.Step(&applied, &drive))
				if drive.Flags&protocol.DrivePlay == 0 {
					continue
				}
				if started < 0 {
					started = now
				}
				require.GreaterOrEqual(t, int64(drive.EdgeTicks), started+48_000)
			}
			require.Positive(t, started)
		}
	}
}
