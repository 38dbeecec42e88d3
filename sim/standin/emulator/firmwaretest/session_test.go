package firmwaretest

import (
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/protocol/frame"
	"govrig/sim/standin/emulator"
)

func TestIdentity(t *testing.T) {
	b := newBench(t, "")
	id := b.identity()
	nonce := id.Nonce
	id.Nonce = 0
	require.Equal(t, protocol.Identity{
		Protocol: protocol.Version, Board: protocol.BoardMega328, FirmwareMajor: 1, FirmwareMinor: 3,
		ResetCause: protocol.ResetPowerOn, Marks: protocol.MarkEmulated, TickHz: tickHz,
		MinWidthTicks: 1_600, MaxWidthTicks: 64_000,
		MinPeriodTicks: 8_000, MaxPeriodTicks: 8_000_000, MinTelemetryTicks: 16_000,
		MinFailsafeTicks: 160_000, MaxFailsafeTicks: 16_000_000,
		MaxServoTicks: 40_000, MinServoPeriodTicks: 48_000,
	}, id)
	require.Equal(t, nonce, b.identity().Nonce, "the same start")
	seen := map[uint32]bool{nonce: true}
	for range 20 {
		require.NoError(t, b.Reset())
		b.run(100 * millisecond)
		id := b.identity()
		require.EqualValues(t, protocol.ResetExternal, id.ResetCause)
		require.False(t, seen[id.Nonce], "a nonce came twice")
		seen[id.Nonce] = true
	}
}

// Identify is answered at any time and disturbs nothing.
func TestIdentifyInASession(t *testing.T) {
	b := newBench(t, "")
	b.find()
	p := b.play(settings(), every(66_667))
	for range 50 {
		b.send(&protocol.Identify{})
		var id protocol.Identity
		require.NoError(t, id.Parse(b.next()))
		p.round()
	}
	got := starts(b.pulses(emulator.PickupPin, false))
	require.Equal(t, p.train(len(got)), got)
	require.Zero(t, p.last.LateEdges)
}

// Before Configure the board is quiet on every line.
func TestQuietBeforeConfigure(t *testing.T) {
	b := newBench(t, "")
	b.drive(protocol.Drive{Flags: protocol.DrivePlay, EdgeTicks: 3_000_000, PeriodTicks: 50_000, StickTicks: 24_000})
	b.run(200 * millisecond)
	require.Empty(t, b.edges[emulator.PickupPin])
	require.Empty(t, b.edges[emulator.StickPin])
	require.Empty(t, b.edges[emulator.SelectPin])
	b.identity()
	require.Empty(t, b.queue)
}

func TestConfigureIsRefusedAsAWhole(t *testing.T) {
	b := newBench(t, "")
	b.find()
	p := b.play(settings(), every(66_667))
	p.say.StickTicks = 24_000
	for _, c := range []struct {
		change func(*protocol.Configure)
		why    uint8
	}{
		{func(c *protocol.Configure) { c.TelemetryTicks = 15_999 }, protocol.RefusedTelemetry},
		{func(c *protocol.Configure) { c.FailsafeTicks = 159_999 }, protocol.RefusedFailsafe},
		{func(c *protocol.Configure) { c.FailsafeTicks = 16_000_001 }, protocol.RefusedFailsafe},
		{func(c *protocol.Configure) { c.PickupWidthTicks = 1_599 }, protocol.RefusedWidth},
		{func(c *protocol.Configure) { c.PickupWidthTicks = 64_001 }, protocol.RefusedWidth},
		{func(c *protocol.Configure) { c.ServoPeriodTicks = 47_999 }, protocol.RefusedServo},
		{func(c *protocol.Configure) { c.ServoPeriodTicks = 800_001 }, protocol.RefusedServo},
		{func(c *protocol.Configure) { c.SafeStickTicks = 40_001 }, protocol.RefusedServo},
	} {
		refused := settings()
		refused.Sequence = c.why + 100
		refused.Options = protocol.OptionPickupLow
		c.change(&refused)
		require.Equal(t, c.why, b.tryConfigure(refused))
		p.rounds(10 * millisecond)
	}
	got := starts(b.pulses(emulator.PickupPin, false))
	require.Greater(t, len(got), 10)
	require.Equal(t, p.train(len(got)), got, "the session went on")
}

// Limits themselves are taken.
func TestConfigureAtTheLimits(t *testing.T) {
	b := newBench(t, "")
	b.configure(protocol.Configure{TelemetryTicks: 16_000, FailsafeTicks: 160_000, PickupWidthTicks: 1_600, ServoPeriodTicks: 48_000})
	b.configure(protocol.Configure{TelemetryTicks: 0xFFFFFF, FailsafeTicks: 16_000_000, PickupWidthTicks: 64_000,
		ServoPeriodTicks: 800_000, SafeStickTicks: 40_000})
}

// Telemetry begins one period after Configure and keeps to its schedule: the
// moments it tells are the true ones, a few µs after the scheduled, and never
// drift from it.
func TestTelemetrySchedule(t *testing.T) {
	for _, period := range []uint32{16_000, 32_000, 33_333, 64_000, 1_000_001} {
		b := newBench(t, "")
		b.find()
		c := settings()
		c.TelemetryTicks, c.FailsafeTicks = period, 16_000_000
		before := b.board(b.Now())
		b.configure(c)
		p := &player{b: b}
		for i := int64(0); i < 300; i++ {
			p.hear()
			require.EqualValues(t, uint8(i), p.last.Sequence)
			due := before + (i+1)*int64(period) + 20*320 // when Configure had come
			require.InDelta(t, due, p.ticks, 3_000)
		}
	}
}

// Stop: one last telemetry frame, then quiet; no pulses, the stick at its safe
// width. What comes late is not taken up again.
func TestStop(t *testing.T) {
	b := newBench(t, "")
	b.find()
	c := settings()
	c.SafeStickTicks = 17_600
	p := b.play(c, every(66_667))
	p.say.StickTicks, p.say.SelectTicks = 24_000, 19_200
	p.rounds(100 * millisecond)
	require.EqualValues(t, protocol.TelemetryPlaying|protocol.TelemetryDriven, p.last.Flags)
	b.send(&protocol.Stop{})
	m := b.telemetry()
	for m.Flags&protocol.TelemetrySafe == 0 {
		m = b.telemetry()
	}
	require.EqualValues(t, protocol.TelemetrySafe|protocol.TelemetryDriven, m.Flags)
	pulses := len(b.edges[emulator.PickupPin])
	b.edges[emulator.StickPin] = nil
	p.answer()
	b.run(200 * millisecond)
	require.LessOrEqual(t, len(b.edges[emulator.PickupPin]), pulses+1, "the pulse under way")
	require.Zero(t, len(b.edges[emulator.PickupPin])%2)
	requireWidth(t, 17_600, b.pulses(emulator.StickPin, false)[1:])
	b.identity()
	require.Empty(t, b.queue, "quiet")
}

// Stop is answered without a session too.
func TestStopAtAnyTime(t *testing.T) {
	b := newBench(t, "")
	b.send(&protocol.Stop{})
	require.EqualValues(t, protocol.TelemetrySafe, b.telemetry().Flags)
}

// Configure in the midst of a pulse lets it end, then starts over.
func TestConfigureLetsAPulseEnd(t *testing.T) {
	for delay := int64(0); delay < 70_000; delay += 3_333 {
		b := newBench(t, "")
		b.find()
		c := settings()
		c.PickupWidthTicks, c.ServoPeriodTicks = 40_000, 64_000
		p := b.play(c, every(66_667))
		p.say.StickTicks, p.say.SelectTicks = 24_000, 20_000
		p.rounds(20 * millisecond)
		b.run(delay)
		c.Options = protocol.OptionPickupLow
		b.configure(c)
		m := b.telemetry()
		require.Zero(t, m.Sequence)
		require.Zero(t, m.PickupCount)
		require.Zero(t, m.AppliedDrive)
		require.EqualValues(t, protocol.TelemetrySafe, m.Flags)
		b.run(20 * millisecond)
		got := b.pulses(emulator.PickupPin, false)
		requireWidth(t, 40_000, got)
		require.Len(t, b.edges[emulator.PickupPin], 2*len(got)+1, "and the line's new rest")
		for _, s := range b.pulses(emulator.StickPin, false) {
			require.Contains(t, []int64{16_000, 24_000}, s.width)
		}
		for _, s := range b.pulses(emulator.SelectPin, false) {
			require.EqualValues(t, 20_000, s.width)
		}
		require.NoError(t, b.Close())
	}
}

// Damaged frames, unknown messages and messages of a wrong length are counted,
// empty frames are not.
func TestBadFrames(t *testing.T) {
	b := newBench(t, "")
	c := settings()
	c.FailsafeTicks = 1_000 * millisecond // the session goes on
	b.configure(c)
	good := frame.Append(nil, (&protocol.Drive{Sequence: 9}).AppendTo(nil))
	damaged := append([]byte(nil), good...)
	damaged[5] ^= 0x40
	for i, c := range []struct {
		bytes []byte
		bad   uint8
	}{
		{good, 0}, {[]byte{0, 0, 0}, 0}, {damaged, 1}, {[]byte{1, 0}, 1}, {[]byte{9, 7, 0}, 1},
		{frame.Append(nil, []byte{0x77, 1, 2}), 1},
		{frame.Append(nil, []byte{protocol.DriveID, 1, 2}), 1},
		{frame.Append(nil, []byte{protocol.StopID, 0}), 1},
		{frame.Append(nil, make([]byte, 64)), 1},
		{append(append([]byte{5, 6, 7}, good...), good...), 1},
		{append([]byte{0xFF}, make([]byte, 9)...), 1},
	} {
		before := b.telemetry().BadFrames
		b.sendBytes(c.bytes)
		b.telemetry()
		b.telemetry()
		require.EqualValues(t, before+c.bad, b.telemetry().BadFrames, "%d: % X", i, c.bytes)
	}
	require.EqualValues(t, 9, b.telemetry().AppliedDrive)
}
