package faults

import (
	"context"
	"fmt"
	"govrig/rig/execution/governed"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/rig/execution"
	"govrig/rig/phase"
	"govrig/rig/procedure/proceduretest"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
	"govrig/sim/standin/governor"
)

// What is ordered reaches the pickup line: pulses are missing, added, doubled,
// and gone, however many there are to a turn, up to the board's two thousand a second.
func TestFaultsReachThePickupLine(t *testing.T) {
	const step = "  speed_step: 25 rpm\n"
	for turn, doubled := range map[int]string{
		1: "every pulse doubled for half a second", 4: "250 stray pulses in half a second", 8: "250 stray pulses in half a second",
	} {
		m := proceduretest.Spoilt(t, step, fmt.Sprintf("%s  pulses_per_turn: %d\n", step, turn))
		edges, r := listened(t, m)
		require.Contains(t, proceduretest.Words(r), doubled)
		for name, want := range map[string]struct{ share, more float64 }{
			"missing pulse":  {1, -1},
			"missing bursts": {1, -30},
			"stray pulses":   {1, 5},
			"pickup lost":    {0, 0},
		} {
			regular, count := counted(r, turn, during(name), after(name), edges)
			require.InDelta(t, want.share*regular+want.more, count, 3, "%s, %d to a turn", name, turn)
		}
		regular, count := counted(r, turn, during("doubled pulses"), after("doubled pulses"), edges)
		require.InDelta(t, regular+math.Min(regular, 250), count, 4, "%d to a turn", turn)
	}
}

// listened runs faults, and gives the leading edges on the pickup line, s of the trace.
func listened(t *testing.T, m *machine.Machine) (edges []float64, r *execution.Run) {
	g, err := governor.New(m.GovernorParams(board.TickHz), 0)
	require.NoError(t, err)
	watch := func(line governor.Line, tick int64, high bool) {
		if line == governor.Pickup && high != (m.Pickup.Active == machine.Low) {
			edges = append(edges, float64(tick)/board.TickHz)
		}
	}
	b := &execution.Bench{Machine: m, Where: "virtual", StandIn: g}
	origin := -1.0 // of the trace's time, by the board's clock
	b.Board = &proceduretest.Tap{ReadWriteCloser: board.New(board.Options{Governor: g, Watch: watch}), Each: func(message []byte) {
		var telemetry protocol.Telemetry
		if origin < 0 && telemetry.Parse(message) == nil {
			origin = float64(telemetry.Ticks) / board.TickHz
		}
	}}
	r, err = (&Options{AtSpeed: governed.AtSpeed{Speed: "circuit"}}).Run(context.Background(), b)
	require.NoError(t, err)
	for i := range edges {
		edges[i] -= origin
	}
	return edges, r
}

// counted is how many pulses, so many a turn, the plant made from one phase to another, or to the end of
// the first, and how many came on the line.
func counted(r *execution.Run, turn int, first, next phase.Key, edges []float64) (regular float64, count int) {
	from, to := r.Trace.Span(first)
	if after, _ := r.Trace.Span(next); after > 0 {
		to = after
	}
	start, end := r.Trace.Time[from], r.Trace.Time[to-1]
	for _, speed := range r.Trace.Speed[from:to] {
		regular += speed / 60 * float64(turn) * (end - start) / float64(to-from)
	}
	for _, e := range edges {
		if e >= start && e < end {
			count++
		}
	}
	return regular, count
}
