package firmwaretest

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/sim/pickup"
	"govrig/sim/pickup/turned"
	"govrig/sim/standin/board"
	"govrig/sim/standin/emulator"
	"govrig/sim/standin/governor"
)

// join takes off the board's lines what is there and joins something else.
func (b *bench) join(w emulator.Wires) {
	b.t.Helper()
	require.NoError(b.t, b.Rewire(func(_ int64, now *emulator.Wires) { *now = w }))
}

// listen keeps all three outputs playing for some frames and gives what was
// heard.
func (b *bench) listen(frames int) (got heard) {
	b.t.Helper()
	for range frames {
		m := b.telemetry()
		got.take(&m)
		b.drive(protocol.Drive{
			Flags: protocol.DrivePlay, EdgeTicks: m.Ticks + 40_000, PeriodTicks: 30_011,
			StickTicks: 1_234 * microsecond, SelectTicks: 1_777 * microsecond,
		})
	}
	return got
}

// A jumper brings every pulse of its output to its input, to the tick; a
// transistor in it turns them over.
func TestJumpersAreExact(t *testing.T) {
	pins := map[governor.Line]emulator.Pin{
		governor.Pickup: emulator.PickupPin, governor.Stick: emulator.StickPin, governor.Select: emulator.SelectPin,
	}
	for line, pin := range pins {
		for _, to := range []board.Input{board.Throttle, board.Probe} {
			for _, inverted := range []bool{false, true} {
				t.Run(fmt.Sprint(pin, to, inverted), func(t *testing.T) {
					b := newBench(t, "")
					b.find()
					c := settings()
					if to == board.Probe {
						c.Options |= protocol.OptionCaptureProbe
					}
					if inverted {
						c.Options |= protocol.OptionCaptureLow
					}
					b.join(emulator.Wires{Jumpers: []board.Jumper{{From: line, To: to, Inverted: inverted}}})
					b.configure(c)
					got := b.listen(100)
					require.Greater(t, len(got), 5)
					requireHeard(t, b.pulses(pin, false), got)
				})
			}
		}
	}
}

// A jumper that comes and goes in mid run carries the pulses of its time and
// no other; one put in during a pulse starts the pulse there.
func TestJumperComesAndGoes(t *testing.T) {
	const period, width = 100_000, 150 * microsecond
	b := newBench(t, "")
	b.find()
	b.configure(settings())
	m := b.telemetry()
	first := m.Ticks + 50_000
	wires := emulator.Wires{Jumpers: []board.Jumper{{From: governor.Pickup, To: board.Throttle}}}
	var want, got heard
	for i := range int64(50) {
		b.drive(protocol.Drive{Flags: protocol.DrivePlay, EdgeTicks: first, PeriodTicks: period})
		rise := int64(first) + i*period
		switch {
		case i == 10:
			require.NoError(t, b.RunUntil(rise+b.zero+1_000)) // into the pulse
			b.join(wires)
			want = append(want, pulse{(rise + 1_000) & 0xFFFFFF, width - 1_000})
		case i == 20 || i == 40:
			b.join(emulator.Wires{})
		case i == 30:
			b.join(wires)
			fallthrough
		case 10 < i && i < 20, 30 < i && i < 40:
			want = append(want, pulse{rise & 0xFFFFFF, width})
		}
		require.NoError(t, b.RunUntil(rise+b.zero+period/2))
	}
	for range 200 {
		m := b.telemetry()
		got.take(&m)
	}
	require.Equal(t, want, got)
}

// A turned sensor's edges are timed to the tick, by the magnets' own times.
func TestTurnedSensorIsExact(t *testing.T) {
	turning := func() *turned.Sensor {
		return &turned.Sensor{
			Pulses: []pickup.Pulse{{Operate: 1, Release: 1.4}, {Operate: 4, Release: 4.3}}, Period: 2 * math.Pi, Low: true,
			Speeds: []turned.Stretch{{Time: 0.05}, {Time: 0.2, Speed: 250}},
		}
	}
	b := newBench(t, "")
	b.find()
	c := settings()
	c.Options = protocol.OptionCaptureProbe | protocol.OptionCaptureLow
	begun := b.Now()
	b.join(emulator.Wires{Turned: turning()})
	b.configure(c)
	got := b.listen(400)
	var want []pulse
	for twin := turning(); len(want) < len(got); {
		on, _, _ := twin.Next()
		off, _, _ := twin.Next()
		start, end := int64(math.Round(on*tickHz)), int64(math.Round(off*tickHz))
		want = append(want, pulse{b.board(begun + start), end - start})
	}
	require.Greater(t, len(got), 40)
	requireHeard(t, want, got)
}
