package level

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// windows samples a pulse train with the given levels: 3 samples of each pulse of
// 11 % of a turn, some of them on an edge.
func windows(random *rand.Rand, low, high float64, n int) (lowest, highest []float64) {
	for range n {
		l, h := high, high
		if random.IntN(3) > 0 { // a pulse was in it
			l = low
			if random.IntN(6) == 0 {
				l += (high - low) * random.Float64() // but for its edge
			}
		}
		noise := 0.01 * random.NormFloat64()
		lowest, highest = append(lowest, l+noise), append(highest, h+noise)
	}
	return lowest, highest
}

// A train between known levels has those levels (IEEE Std 181-2011, state levels,
// from memory), whatever share of the windows holds a pulse, and with a spike.
func TestStatesOfATrain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		random := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		low := rapid.Float64Range(0, 2).Draw(t, "low")
		high := low + rapid.Float64Range(1, 8).Draw(t, "swing")
		l, h := windows(random, low, high, 60)
		h[7] += 0.3 * (high - low)
		gotLow, gotHigh, ok := States(l, h)
		require.True(t, ok)
		require.InDelta(t, low, gotLow, 0.03+0.02*(high-low))
		require.InDelta(t, high, gotHigh, 0.03+0.02*(high-low))
	})
}

func TestLineThatDoesNotSwitch(t *testing.T) {
	low, high, ok := States([]float64{2.1, 2.12, 2.11}, []float64{2.12, 2.13, 2.12})
	require.False(t, ok)
	require.Equal(t, low, high)
	require.InDelta(t, 2.12, low, 0.011)
	_, _, ok = States(nil, nil)
	require.False(t, ok)
}
