package rig

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
)

// train of passes every 10 000 ticks from tick 10 000 on.
func evenPasses(n int) *passed {
	p := &passed{}
	for i := range n {
		p.add(float64(10_000 * (i + 1)))
	}
	return p
}

// taken has sentEdges take frames of some edges each, made 5 000 ticks after
// their newest; the first frame begins the count.
func taken(p *passed, frames ...[]int64) (s sentEdges, h Health) {
	t := protocol.Telemetry{Flags: protocol.TelemetryPlaying | protocol.TelemetryDriven}
	s.take(&t, &protocol.Edges{Sequence: 99}, 0, p, &h)
	for _, edges := range frames {
		newest := edges[len(edges)-1]
		t.Sequence++
		t.PickupCount += uint8(len(edges))
		t.PickupTicks = uint32(newest) & 0xFFFFFF
		more := protocol.Edges{Sequence: t.Sequence}
		for _, e := range edges[:len(edges)-1] {
			if e == unknown {
				continue
			}
			more.Edges[more.EdgesLen].Ticks = uint32(e) & 0xFFFFFF
			more.EdgesLen++
		}
		s.take(&t, &more, newest+5_000, p, &h)
	}
	return s, h
}

// Every edge of a frame is compared, not the newest alone: one that is wrong among
// four, and made up for by the next, shows.
func TestEveryEdgeIsCompared(t *testing.T) {
	_, h := taken(evenPasses(12), []int64{10_000, 20_000, 30_000, 40_000}, []int64{50_000, 60_030, 70_000, 80_000})
	require.EqualValues(t, 7, h.Intervals)
	require.Zero(t, h.Unpaired)
	require.InDelta(t, 0.003, h.WorstInterval, 1e-9)
	require.InDelta(t, 0.003*math.Sqrt(2./7), h.IntervalRMS(), 1e-9)
}

// Pairs are made by count: a pulse that is left out is an error of a whole spacing,
// though every edge lies on a pass, and not the edge after next taken for the next.
func TestEdgesArePairedByCount(t *testing.T) {
	_, h := taken(evenPasses(12), []int64{10_000}, []int64{20_000}, []int64{40_000}, []int64{50_000})
	require.EqualValues(t, 3, h.Intervals)
	require.InDelta(t, 1, h.WorstInterval, 1e-9)
	require.NotEmpty(t, h.Void())
}

// An edge that was counted but not told is counted as such, and voids; the pairs
// behind it are the right ones.
func TestUntoldEdgesAreCounted(t *testing.T) {
	s, h := taken(evenPasses(12), []int64{10_000, 20_000}, []int64{unknown, 40_000}, []int64{50_000})
	require.EqualValues(t, 1, h.Unpaired)
	require.EqualValues(t, 2, h.Intervals) // 10 to 20 and 40 to 50
	require.Zero(t, h.WorstInterval)
	require.Equal(t, 4, s.number)
	require.Contains(t, h.Void(), "could not be compared")
}

// An edge waits until the plant has come to its pass, however long that takes.
func TestEdgesWaitForTheirPasses(t *testing.T) {
	p := evenPasses(3)
	s, h := taken(p, []int64{10_000, 20_000, 30_000, 40_000, 50_000})
	require.EqualValues(t, 2, h.Intervals)
	p.add(40_000)
	p.add(50_000)
	s.compare(p, &h)
	require.EqualValues(t, 4, h.Intervals)
	require.Zero(t, h.Unpaired)
}
