package loadstep

import (
	"context"
	"flag"
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
	"govrig/rig/procedure/proceduretest"
	"govrig/sim/standin/board"
	"govrig/sim/standin/bridge"
)

// More of them: go test ./rig/procedure/loadstep -run DrawnWires -v -wires 200
var wires = flag.Int("wires", 6, "load steps behind so many wires drawn by lot")

const ms = time.Millisecond

// drawn is a wire of a round trip up to 20 ms, with jitter of up to the same size: the
// frame twice, the far time twice, and 1 ms of the serial line are the trip.
func drawn(r *rand.Rand) bridge.Kind {
	trip := ms + time.Duration(r.Int64N(int64(19*ms)))
	frame := []time.Duration{0, 125 * time.Microsecond, ms}[r.IntN(3)]
	far := max(0, trip-ms-2*frame) / 2
	share := r.Float64()
	jitter := time.Duration(share * float64(far) / 6) // six times that at worst
	return bridge.Kind{
		Name: fmt.Sprintf("%v, frames of %v, jitter %v", trip, frame, jitter), Frame: frame,
		Packet: []int{32, 62, 64}[r.IntN(3)], Far: far - time.Duration(3*float64(jitter)), Jitter: jitter,
	}
}

// Wires that no kind was made after: what other bridges do, as far as is known (common
// practice, no source).
var foreign = []bridge.Kind{
	{Name: "62 bytes, each 1 ms", Frame: ms, Packet: 62, Timer: ms},
	{Name: "a bridge that is asked every 8 ms", Frame: 8 * ms},
	{Name: "chunks of 32 bytes, 2 ms", Frame: ms, Packet: 32, Timer: 2 * ms},
	{Name: "microframes of 125 µs", Frame: 125 * time.Microsecond, Packet: 512},
	{Name: "radio, bursts of 5 ms and more", Frame: 5 * ms, Jitter: ms},
}

// Behind any wire with a round trip of up to 20 ms the load step comes to what it does
// without one: the dip to 0.3 % of the speed, which is the governor's own scatter.
func TestDrawnWires(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 0))
	kinds := foreign
	for range *wires {
		kinds = append(kinds, drawn(r))
	}
	ideal := dip(t, bridge.Kind{})
	for _, kind := range kinds {
		require.InDelta(t, ideal, dip(t, kind), 0.3, kind.Name)
	}
}

func dip(t *testing.T, kind bridge.Kind) float64 {
	t.Helper()
	b := proceduretest.Bench(t, proceduretest.Medium(t), nil)
	b.Board.(*board.Board).Through(bridge.New(kind, 1))
	o := &Options{Brief: true}
	run, err := o.Run(context.Background(), b)
	require.NoError(t, err, kind.Name)
	require.Equal(t, measure.Pass, run.Result.Outcome, "%s: %v", kind.Name, run.Result.Warnings)
	t.Logf("%-45s answers in %5.2f ms, worst interval %.4f %%, %v", kind.Name,
		proceduretest.Value(t, run, "loop_delay"), proceduretest.Value(t, run, "pulse_interval_error_worst"), run.Result.Warnings)
	return proceduretest.Value(t, run, "transient_deviation_load_on")
}
