package firmwaretest

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/sim/standin/emulator"
)

// Every edge of the pickup line is at its tick, from two pulses a second to
// 2000, whole periods or not, around the timer's own period of 65536 too.
func TestPickupEdgesAreExact(t *testing.T) {
	for _, period := range []float64{8_000, 9_001, 16_384, 32_767, 32_768.5, 48_048.05, 65_535,
		65_536, 65_537, 66_741.37, 98_304, 131_072, 320_000, 1_234_567.8, 8_000_000} {
		t.Run(fmt.Sprint(period), func(t *testing.T) {
			b := newBench(t, "")
			b.find()
			p := b.play(settings(), every(period))
			p.rounds(max(200*millisecond, int64(3.5*period)))
			got := b.pulses(emulator.PickupPin, false)
			require.GreaterOrEqual(t, len(got), 3)
			require.Equal(t, p.train(len(got)), starts(got))
			for _, g := range got {
				require.EqualValues(t, settings().PickupWidthTicks, g.width)
			}
			require.Zero(t, p.last.LateEdges)
		})
	}
}

// While the host says nothing new the board goes on at whole periods.
func TestPickupGoesOnAlone(t *testing.T) {
	b := newBench(t, "")
	b.find()
	c := settings()
	c.FailsafeTicks = 900 * millisecond
	p := b.play(c, every(66_667))
	b.run(800 * millisecond)
	got := b.pulses(emulator.PickupPin, false)
	require.Greater(t, len(got), 180)
	require.Equal(t, p.train(len(got)), starts(got))
}

// Pulse widths from one limit to the other, high or low.
func TestPickupWidths(t *testing.T) {
	for _, low := range []bool{false, true} {
		for _, width := range []uint16{1_600, 1_601, 2_400, 32_767, 32_768, 40_000, 64_000} {
			t.Run(fmt.Sprint(low, width), func(t *testing.T) {
				b := newBench(t, "")
				b.find()
				c := settings()
				c.PickupWidthTicks = width
				if low {
					c.Options = protocol.OptionPickupLow
				}
				p := b.play(c, every(70_001))
				p.rounds(100 * millisecond)
				got := b.pulses(emulator.PickupPin, low)
				if low {
					// The line rises to its rest at Configure; that is no pulse.
					require.True(t, b.edges[emulator.PickupPin][0].high)
				}
				require.Greater(t, len(got), 20)
				require.Equal(t, p.train(len(got)), starts(got))
				for _, g := range got {
					require.EqualValues(t, width, g.width)
				}
			})
		}
	}
}

// A pulse that would leave too small a gap is cut to the period; a period that
// is out of range, to its limit.
func TestPickupIsCutToItsLimits(t *testing.T) {
	b := newBench(t, "")
	b.find()
	c := settings()
	c.PickupWidthTicks = 20_000
	p := b.play(c, every(8_000))
	p.rounds(20 * millisecond)
	for _, g := range b.pulses(emulator.PickupPin, false) {
		require.EqualValues(t, 8_000-1_600, g.width)
	}
	require.Zero(t, p.last.LateEdges)

	b.configure(settings())
	b.edges[emulator.PickupPin] = nil
	m := b.telemetry()
	b.drive(protocol.Drive{Flags: protocol.DrivePlay, EdgeTicks: m.Ticks + 40_000, PeriodTicks: 100})
	b.run(20 * millisecond)
	got := starts(b.pulses(emulator.PickupPin, false))
	for i := 1; i < len(got); i++ {
		require.EqualValues(t, 8_000, got[i]-got[i-1])
	}
}

// The stick line is exact in width and frame, the select line in steps of half
// a microsecond (8 ticks), whatever the two widths are to each other.
func TestServoEdgesAreExact(t *testing.T) {
	for _, period := range []uint32{48_000, 48_001, 112_345, 320_000, 800_000} {
		for _, width := range []uint16{1_600, 16_000, 24_001, 32_768, 33_333, 40_000} {
			t.Run(fmt.Sprint(period, width), func(t *testing.T) {
				b := newBench(t, "")
				b.find()
				c := settings()
				c.ServoPeriodTicks, c.SafeStickTicks = period, width
				p := b.play(c, every(50_000))
				p.say.StickTicks, p.say.SelectTicks = width, 41_600-width
				p.rounds(max(40*millisecond, 5*int64(period)))
				requireServo(t, b.pulses(emulator.StickPin, false), int64(period), int64(width), 1)
				requireServo(t, b.pulses(emulator.SelectPin, false), int64(period), int64(41_600-width), 8)
				require.Zero(t, p.last.LateEdges)
			})
		}
	}
}

// requireServo wants pulses of one width and one period, each edge right to
// less than a step.
func requireServo(t *testing.T, got []pulse, period, width, step int64) {
	t.Helper()
	require.GreaterOrEqual(t, len(got), 3)
	rounded := (width + step/2) / step * step
	for i, g := range got {
		require.Equal(t, rounded, g.width)
		off := g.start - got[0].start - int64(i)*period
		require.Less(t, max(off, -off), step, "pulse %d", i)
	}
}

// A new width is played from the next pulse on: no pulse has any other width
// than the old or the new one.
func TestServoWidthsChangeBetweenPulses(t *testing.T) {
	b := newBench(t, "")
	b.find()
	c := settings()
	c.ServoPeriodTicks = 48_000
	p := b.play(c, every(50_000))
	allowed := map[int64]bool{0: true, 16_000: true}
	for i := range 400 {
		p.say.StickTicks = uint16(16_000 + i%7*3_200)
		p.say.SelectTicks = uint16(16_000 + i%5*3_200)
		if i%11 == 3 {
			p.say.StickTicks, p.say.SelectTicks = 0, 0
		}
		allowed[int64(p.say.StickTicks)], allowed[int64(p.say.SelectTicks)] = true, true
		p.round()
	}
	for _, pin := range []emulator.Pin{emulator.StickPin, emulator.SelectPin} {
		got := b.pulses(pin, false)
		require.Greater(t, len(got), 200)
		for i, g := range got {
			require.True(t, allowed[g.width], "%d", g.width)
			if i > 0 {
				require.Zero(t, (g.start-got[i-1].start)%48_000)
			}
		}
	}
	require.Zero(t, p.last.LateEdges)
}

// With no width there is no pulse at all.
func TestServoZeroIsSilent(t *testing.T) {
	b := newBench(t, "")
	c := settings()
	c.SafeStickTicks = 0
	b.configure(c)
	b.run(100 * millisecond)
	require.Empty(t, b.edges[emulator.StickPin])
	require.Empty(t, b.edges[emulator.SelectPin])
}

// Servo pulses are cut to what the board can play.
func TestServoIsCutToItsLimits(t *testing.T) {
	b := newBench(t, "")
	b.find()
	p := b.play(settings(), every(50_000))
	p.say.StickTicks, p.say.SelectTicks = 65_535, 65_535
	p.rounds(60 * millisecond)
	requireWidth(t, 40_000, b.pulses(emulator.StickPin, false)[1:])
	requireWidth(t, 40_000, b.pulses(emulator.SelectPin, false)[1:])
	b.edges = map[emulator.Pin][]edge{}
	p.say.StickTicks, p.say.SelectTicks = 1, 1
	p.rounds(80 * millisecond)
	requireWidth(t, 1_600, b.pulses(emulator.StickPin, false)[1:])
	requireWidth(t, 1_600, b.pulses(emulator.SelectPin, false)[1:])
}

func requireWidth(t *testing.T, want int64, got []pulse) {
	t.Helper()
	require.NotEmpty(t, got)
	for _, g := range got {
		require.Equal(t, want, g.width)
	}
}
