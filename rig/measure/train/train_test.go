package train

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// wheel gives the pulses of turns of a shaft: in each turn a pulse at every
// given share, of the widths that belong to them, with the turn's time from
// time.
func wheel(turns int, at, widths []float64, time func(turn int) float64) (pulses []Pulse) {
	start := 0.5
	for k := range turns {
		for i := range at {
			pulses = append(pulses, Pulse{start + at[i]*time(k), widths[i] * time(k)})
		}
		start += time(k)
	}
	return pulses
}

func steady(int) float64 { return 0.04 }

func TestTurnReadsThePattern(t *testing.T) {
	at, widths := []float64{0, 0.04, 0.5}, []float64{0.02, 0.01, 0.11}
	got, ok := Turn(wheel(20, at, widths, steady), 3)
	require.True(t, ok)
	require.InDeltaSlice(t, widths, got.Widths, 1e-9)
	require.InDeltaSlice(t, []float64{0.04, 0.46, 0.5}, got.Spacings, 1e-9)
	require.InDelta(t, 0, got.Scatter, 1e-9)
	require.InEpsilon(t, 25, got.Speed, 1e-9)
	require.InEpsilon(t, 0.14/3, got.Width(), 1e-9)
	require.Zero(t, got.Missing+got.Extra)
	require.Equal(t, 3, PerTurn(wheel(20, at, widths, steady), 6))
	require.Equal(t, 1, PerTurn(wheel(20, []float64{0, 0.5}, []float64{0.1, 0.1}, steady), 6), "even magnets look alike")
	require.Zero(t, PerTurn(nil, 6))
}

// Two magnets that should be alike: the second comes 0.02 of a turn late and is
// felt for a fifth longer.
func TestFold(t *testing.T) {
	got, ok := Turn(wheel(10, []float64{0, 0.1, 0.52, 0.62}, []float64{0.05, 0.02, 0.06, 0.02}, steady), 4)
	require.True(t, ok)
	even, spacing, width := got.Fold(2)
	require.InDelta(t, 0.04, spacing, 1e-9)
	require.InDelta(t, 0.01/0.055, width, 1e-9)
	require.InDeltaSlice(t, []float64{0.055, 0.02, 0.055, 0.02}, even.Widths, 1e-9)
	require.InDeltaSlice(t, []float64{0.1, 0.4, 0.1, 0.4}, even.Spacings, 1e-9)
	same, spacing, width := even.Fold(1)
	require.Equal(t, even, same)
	require.InDelta(t, 0, spacing+width, 1e-9)
}

// Two lobes of one magnet, close together, while the shaft spins up from rest:
// neither is taken for the other.
func TestLobesWhileSpinningUp(t *testing.T) {
	var pulses []Pulse
	time := func(angle float64) float64 { return math.Sqrt(angle / 20) } // turns, s
	for k := 1.0; k < 60; k++ {
		for _, at := range []float64{0, 0.043} {
			pulses = append(pulses, Pulse{time(k + at), time(k+at+0.01) - time(k+at)})
		}
	}
	got, ok := Turn(pulses, 2)
	require.True(t, ok)
	require.Zero(t, got.Missing+got.Extra)
	require.Greater(t, got.Turns, 50)
	require.InDelta(t, 0.01, got.Width(), 0.001)
}

// A shaft whose speed changes by a tenth each turn still gives the shares.
func TestTurnWhileTheSpeedChanges(t *testing.T) {
	for _, factor := range []float64{0.9, 1.1} {
		pulses := wheel(12, []float64{0, 0.5}, []float64{0.1, 0.1}, func(k int) float64 { return 0.04 * math.Pow(factor, float64(k)) })
		got, ok := Turn(pulses, 2)
		require.True(t, ok)
		require.InDelta(t, 0.1, got.Width(), 0.005)
		_, spacing, _ := got.Fold(2)
		require.Less(t, spacing, 0.06)
		require.Zero(t, got.Missing+got.Extra)
	}
}

// Pulses taken out are missing, pulses put between are extra, wherever they
// are and however many pulses a turn has; the shares stay.
func TestMissingAndExtraAreCounted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := [][]float64{{0}, {0, 0.5}, {0, 0.05}, {0, 0.25, 0.5, 0.75}}[rapid.IntRange(0, 3).Draw(t, "pattern")]
		widths := slices.Repeat([]float64{0.03}, len(at))
		pulses := wheel(60, at, widths, steady)
		missing, extra := 0, 0
		for i := 55 * len(at); i > 4*len(at); i -= rapid.IntRange(3*len(at), 9*len(at)).Draw(t, "next") {
			if rapid.Bool().Draw(t, "missing") {
				pulses = slices.Delete(pulses, i, i+1)
				missing++
			} else {
				gap := pulses[i].Start - pulses[i-1].End()
				pulses = slices.Insert(pulses, i, Pulse{pulses[i-1].End() + 0.3*gap, 0.2 * gap})
				extra++
			}
		}
		got, ok := Turn(pulses, len(at))
		require.True(t, ok)
		require.Equal(t, missing, got.Missing)
		require.Equal(t, extra, got.Extra)
		require.InDelta(t, 0.03, got.Width(), 1e-9)
	})
}

// Of turns by hand with rests between, the longest stretch counts, and a rest
// is no missing pulse.
func TestRestsAreNoMissingPulses(t *testing.T) {
	pulses := wheel(5, []float64{0}, []float64{0.1}, func(int) float64 { return 0.5 })
	for _, p := range wheel(9, []float64{0}, []float64{0.1}, func(int) float64 { return 0.4 }) {
		p.Start += 6.3
		pulses = append(pulses, p)
	}
	got, ok := Turn(pulses, 1)
	require.True(t, ok)
	require.Equal(t, 8, got.Turns)
	require.Zero(t, got.Missing+got.Extra)
}

func TestNothingToRead(t *testing.T) {
	for _, pulses := range [][]Pulse{nil, {{0, 1}}, wheel(3, []float64{0}, []float64{0.1}, steady)} {
		_, ok := Turn(pulses, 1)
		require.False(t, ok)
	}
	wild := wheel(20, []float64{0}, []float64{0.1}, func(k int) float64 { return 0.02 * math.Exp2(float64(k%3)) })
	_, ok := Turn(wild, 1)
	require.False(t, ok)
}

// A coasting shaft is followed down to its last whole turn; the wait after it
// is no turn.
func TestSlowest(t *testing.T) {
	pulses := wheel(30, []float64{0}, []float64{0.1}, func(k int) float64 { return 0.05 * math.Pow(1.1, float64(k)) })
	slowest := 1 / (0.05 * math.Pow(1.1, 28))
	require.InEpsilon(t, slowest, Slowest(pulses, 1), 1e-9)
	again := Pulse{pulses[29].Start + 9, 0.1}
	require.InEpsilon(t, slowest, Slowest(append(pulses, again), 1), 1e-9)
	require.Zero(t, Slowest(pulses[:2], 1))
}

func TestCompare(t *testing.T) {
	wanted := Even(1, 0.01, 500e-6, 10)
	got := slices.Clone(wanted)
	for i := range got {
		got[i].Start += 1e-6
	}
	got[4].Start, got[4].Width = got[4].Start+1e-6, got[4].Width-3e-6
	m := Compare(wanted, got, 50e-6)
	require.Zero(t, m.Missing+m.Stray)
	require.InDelta(t, 1.1e-6, m.Delay.Mean, 1e-12)
	require.InDelta(t, 1e-6, m.Delay.Range(), 1e-12)
	require.InDelta(t, -3e-6, m.Width.Worst(), 1e-12)

	got = slices.Insert(slices.Delete(got, 7, 8), 3, Pulse{1.025, 500e-6})
	got = append([]Pulse{{0.5, 1e-3}}, append(got, Pulse{2, 1e-3})...)
	m = Compare(wanted, got, 50e-6)
	require.Equal(t, 1, m.Missing)
	require.Equal(t, 1, m.Stray, "what came before and after does not count")
	require.Equal(t, Match{Missing: 10}, Compare(wanted, nil, 1))
	require.Equal(t, Match{}, Compare(nil, got, 1))
}

// A line that is upside down is the rests between its pulses.
func TestRests(t *testing.T) {
	line := Even(1, 0.01, 500e-6, 5)
	require.Equal(t, 0.05, math.Round(1e6*Share(line))/1e6)
	upside := Rests(line)
	require.InDelta(t, 0.95, Share(upside), 1e-9)
	m := Compare(line[1:4], Rests(upside), 1e-9)
	require.Zero(t, m.Missing)
	require.Zero(t, Share(line[:1]))
}

func BenchmarkTurn(b *testing.B) {
	pulses := wheel(500, []float64{0, 0.5}, []float64{0.03, 0.03}, steady)
	b.ReportAllocs()
	for b.Loop() {
		Turn(pulses, 2)
	}
}
