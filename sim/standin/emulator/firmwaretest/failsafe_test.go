package firmwaretest

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/sim/standin/emulator"
)

// silent plays for a while, stops answering after a delay, and gives what the
// pickup line did after the last Drive was applied.
func silent(t *testing.T, defs string, failsafe uint32, delay int64) (b *bench, applied int64) {
	b = newBench(t, defs)
	b.find()
	c := settings()
	c.FailsafeTicks, c.SafeStickTicks = failsafe, 17_600
	p := b.play(c, every(50_021))
	p.say.StickTicks, p.say.SelectTicks = 24_000, 20_000
	p.rounds(30 * millisecond)
	b.run(delay)
	p.answer()
	m := b.telemetry()
	for range 2 {
		m = b.telemetry()
	}
	require.Equal(t, b.drives, m.AppliedDrive)
	applied = int64(m.Ticks) - int64((m.Ticks-m.AppliedTicks)&0xFFFFFF)
	return b, applied
}

// Within the failsafe time after the last Drive, and not more than 4.1 ms
// before, the pickup falls silent. The stick goes to its safe width, the
// select line stays.
func TestFailsafe(t *testing.T) {
	for i, failsafe := range []uint32{160_000, 200_001, 800_000, 1_600_000, 8_000_000} {
		t.Run(fmt.Sprint(failsafe), func(t *testing.T) {
			b, applied := silent(t, "", failsafe, int64(i)*7_777)
			b.run(int64(failsafe) + 100*millisecond)
			got := b.pulses(emulator.PickupPin, false)
			last := got[len(got)-1].start - applied
			require.Less(t, last, int64(failsafe))
			require.Greater(t, last, int64(failsafe)-65_536-50_021)
			requireWidth(t, int64(settings().PickupWidthTicks), got)
			require.Len(t, b.edges[emulator.PickupPin], 2*len(got), "the last pulse has ended")

			requireSafeLines(t, b, applied+int64(failsafe))
			requireFailsafeIsLatched(t, b)
		})
	}
}

// requireSafeLines looks at the stick and select lines after a failsafe.
func requireSafeLines(t *testing.T, b *bench, since int64) {
	t.Helper()
	safe := 0
	for _, s := range b.pulses(emulator.StickPin, false) {
		if s.start > since {
			require.EqualValues(t, 17_600, s.width)
			safe++
		}
	}
	require.Greater(t, safe, 3)
	stay := 0
	for _, s := range b.pulses(emulator.SelectPin, false) {
		if s.start > since {
			require.EqualValues(t, 20_000, s.width)
			stay++
		}
	}
	require.Greater(t, stay, 3)
}

// requireFailsafeIsLatched wants Drives to be without effect until Configure.
func requireFailsafeIsLatched(t *testing.T, b *bench) {
	t.Helper()
	b.latest()
	pulses := len(b.edges[emulator.PickupPin])
	var m protocol.Telemetry
	for range 20 {
		m = b.telemetry()
		b.drive(protocol.Drive{Flags: protocol.DrivePlay, EdgeTicks: m.Ticks + 40_000, PeriodTicks: 50_000, StickTicks: 24_000})
	}
	require.EqualValues(t, protocol.TelemetrySafe|protocol.TelemetryFailsafe|protocol.TelemetryDriven, m.Flags)
	require.NotEqual(t, b.drives, m.AppliedDrive)
	require.Len(t, b.edges[emulator.PickupPin], pulses)
	b.send(&protocol.Stop{})
	require.Equal(t, m.Flags, b.telemetry().Flags, "it still came from the failsafe")
	p := b.play(settings(), every(50_021))
	p.rounds(20 * millisecond)
	require.EqualValues(t, protocol.TelemetryPlaying|protocol.TelemetryDriven, p.last.Flags)
	require.Greater(t, len(b.edges[emulator.PickupPin]), pulses)
}

// A board that is not driven stays safe and goes on telling so.
func TestNoFailsafeBeforeTheFirstDrive(t *testing.T) {
	b := newBench(t, "")
	b.configure(settings())
	b.run(200 * millisecond)
	var m protocol.Telemetry
	for range 90 {
		m = b.telemetry()
	}
	require.EqualValues(t, protocol.TelemetrySafe, m.Flags)
}

// hang orders the test build's main loop to do nothing any more.
var hang = protocol.Drive{Flags: protocol.DrivePlay | 1<<7, PeriodTicks: 50_021}

// When the main loop hangs, the failsafe still comes in time, by interrupt.
// The watchdog, longer, then resets the board, which says so, and its outputs
// are safe.
func TestHangingMainLoop(t *testing.T) {
	const failsafe = 40 * millisecond
	b, _ := silent(t, "-DTEST_HANG", failsafe, 0)
	h := hang
	h.EdgeTicks, h.StickTicks = uint32(b.board(b.Now())), 24_000
	b.drive(h)
	at := b.board(b.Now())
	b.run(100 * millisecond)
	got := b.pulses(emulator.PickupPin, false)
	require.Less(t, got[len(got)-1].start, at+18*320+2_000+failsafe)
	require.Greater(t, got[len(got)-1].start, at+failsafe-8*millisecond, "it played on for that time")
	require.Len(t, b.edges[emulator.PickupPin], 2*len(got))

	edges := len(b.edges[emulator.PickupPin])
	b.run(150 * millisecond)
	id := b.awake()
	require.EqualValues(t, protocol.ResetWatchdog, id.ResetCause)
	require.Len(t, b.edges[emulator.PickupPin], edges)
	stats, err := b.Stats()
	require.NoError(t, err)
	require.Equal(t, 1, stats.Resets)
	for _, pin := range []emulator.Pin{emulator.PickupPin, emulator.StickPin, emulator.SelectPin} {
		e := b.edges[pin]
		require.True(t, len(e) == 0 || !e[len(e)-1].high, "%v", pin)
	}
}

// awake gives the identity of a board that has just started, whatever it was
// sending before.
func (b *bench) awake() (id protocol.Identity) {
	b.t.Helper()
	b.send(&protocol.Identify{})
	b.latest()
	require.NoError(b.t, id.Parse(b.next()))
	return id
}

// When interrupts hang too, nothing but the watchdog is left.
func TestHangingInterrupts(t *testing.T) {
	b, _ := silent(t, "-DTEST_HANG=2", 500*millisecond, 0)
	h := hang
	h.EdgeTicks = uint32(b.board(b.Now()))
	b.drive(h)
	at := b.Now()
	b.run(300 * millisecond)
	e := b.edges[emulator.PickupPin]
	require.Less(t, e[len(e)-1].tick, at+150*millisecond)
	require.False(t, e[len(e)-1].high)
	require.EqualValues(t, protocol.ResetWatchdog, b.awake().ResetCause)
}
