package emulator

import (
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/sim/standin/board"
	"govrig/sim/standin/governor"
)

// What stays joined goes on undisturbed, however often the wires are changed
// beside it: the same bytes, the same edges.
func TestRewiringLeavesTheRestAlone(t *testing.T) {
	var edges [2][]pinEdge
	var frames [2][]byte
	for i := range 2 {
		b := newBench(t, "load", Options{Governor: standIn(t)})
		n := 0
		session(t, b, 300, func(f []byte) {
			frames[i] = append(frames[i], f...)
			if n++; i == 0 {
				return
			}
			require.NoError(t, b.Rewire(func(_ int64, w *Wires) {
				w.Jumpers = nil
				if n%2 == 0 { // heard at the probe, which nobody listens to here
					w.Jumpers = []board.Jumper{{From: governor.Pickup, To: board.Probe}}
				}
			}))
		})
		edges[i] = b.edges
	}
	require.NotEmpty(t, edges[0])
	require.Equal(t, edges[0], edges[1])
	require.Equal(t, frames[0], frames[1])
}

// A wire goes before what the host holds; that stands there again when it is
// taken out. A transistor on a pin that is let go stays off, its end high; a
// plain wire from such a pin brings nothing.
func TestWireBeforeTheHost(t *testing.T) {
	b, zero := captureBench(t, "capture", 'x') // its outputs are but PB5
	fromStick := board.Jumper{From: governor.Stick, To: board.Throttle}
	upside := fromStick
	upside.Inverted = true
	join := func(j ...board.Jumper) {
		require.NoError(t, b.Rewire(func(_ int64, w *Wires) { w.Jumpers = j }))
	}
	b.run(b.Now() + 1000)
	rise := b.Now()
	join(upside)
	b.run(rise + 5000)
	join()
	require.Equal(t, captured{rise + synchroniser - zero, 5000}, b.captured())

	b.run(b.Now() + 1000)
	join(fromStick)
	rise = b.Now() + 500
	require.NoError(t, b.Drive(ThrottlePin, rise, true))
	require.NoError(t, b.Drive(ThrottlePin, rise+7000, false))
	require.Equal(t, captured{rise + synchroniser - zero, 7000}, b.captured())
}

func TestWireThatCannotBe(t *testing.T) {
	for _, fields := range [][]any{
		{byte('B'), byte(1), byte('B'), byte(0), byte(3)}, // of no kind
		{byte('A'), byte(1), byte('B'), byte(0), byte(1)}, // from an analogue input
		{byte('B'), byte(8), byte('B'), byte(0), byte(1)},
		{byte('B'), byte(1), byte('A'), byte(10), byte(1)},
	} {
		b := newBench(t, "load", Options{})
		b.send('W', append([]any{int64(0)}, fields...)...)
		var told *HarnessError
		require.ErrorAs(t, b.RunUntil(100), &told, "%v", fields)
	}
}
