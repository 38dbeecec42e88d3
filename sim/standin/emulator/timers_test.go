package emulator

import (
	"testing"

	"github.com/stretchr/testify/require"
)

var markPin = Pin{'B', 5}

// every gives n ticks from first on, period apart.
func every(first, period int64, n int) []int64 {
	ticks := make([]int64, n)
	for i := range ticks {
		ticks[i] = first + int64(i)*period
	}
	return ticks
}

// The outputs change at a match and never at an overflow, at the very cycle.
// The numbers are counted in testfirmware/compare.c, from the instruction
// times of the AVR Instruction Set Manual (DS40002198) and the data sheet's
// timing diagrams: the output changes as the count goes on from the compare
// value.
func TestCompareOutputs(t *testing.T) {
	b := newBench(t, "compare", Options{})
	start := b.mark(markPin)
	const turn1, turn2 = 65536, 256 * 8
	b.run(start + 4*turn1)

	require.Equal(t, every(start+2+1001, 2*turn1, 2), b.of(PickupPin, true))
	require.Equal(t, every(start+2+1001+turn1, 2*turn1, 2), b.of(PickupPin, false))
	require.Equal(t, []int64{start + 2 + 40001}, b.of(StickPin, true), "set, not toggled")
	require.Empty(t, b.of(StickPin, false))
	require.Equal(t, every(start+4+100*8, 2*turn2, 64), b.of(SelectPin, true))
	require.Equal(t, every(start+4+100*8+turn2, 2*turn2, 64), b.of(SelectPin, false))
	require.Equal(t, every(start+4+10*8, 2*turn2, 64), b.of(Pin{'D', 3}, true))
}

// Reset and Interrupt Handling, Interrupt Response Time: four cycles, then the
// jump at the vector (three); four more out of sleep. SBI acts at the end of
// its second cycle.
func TestInterruptLatency(t *testing.T) {
	b := newBench(t, "latency", Options{})
	b.run(3 * 65536)
	matches := append(b.of(PickupPin, true), b.of(PickupPin, false)...)
	answers := b.of(markPin, true)
	require.Len(t, answers, 3)
	require.Equal(t, matches[0]+4+3+2, answers[0], "among one-cycle instructions")
	require.Equal(t, matches[2]+4+4+3+2, answers[1], "asleep")
	require.Equal(t, matches[1]+4+4+3+2, answers[2], "asleep again")

	s, err := b.Stats()
	require.NoError(t, err)
	const compareA = 11
	// entry 4, JMP 3, SBI 2, CBI 2, RETI 4
	require.Equal(t, VectorStats{Entries: 3, Ticks: 45, LongestTicks: 15, LatestTicks: 4}, s.Vectors[compareA])
	require.EqualValues(t, 45, s.InterruptTicks)
	require.InDelta(t, 3*65536-650, s.SleepTicks, 100)
	require.Equal(t, 0x8FF-2-2, s.LowestStack, "the call of main and one interrupt")
}
