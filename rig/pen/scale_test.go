package pen

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func labels(ticks []tick) (all []string) {
	for _, t := range ticks {
		if t.label != "" {
			all = append(all, t.label)
		}
	}
	return all
}

// Heckbert, Nice numbers for graph labels, Graphics Gems, 1990 (from memory):
// nicenum(438, ceiling) = 500 in its worked example of 105 to 543.
func TestNice(t *testing.T) {
	for size, want := range map[float64]float64{438: 500, 0.9: 1, 1: 1, 1.1: 2, 2.5: 5, 6: 10, 0.03: 0.05, 430: 500} {
		require.InEpsilon(t, want, nice(size), 1e-12)
	}
}

func TestTicks(t *testing.T) {
	require.Equal(t, []string{"−0.1", "0.0", "0.1"}, labels(scale{low: -0.11, high: 0.11, to: 100}.ticks(0, 25)))
	require.Equal(t, []string{"−100", "−75", "−50"}, labels(scale{low: -100, high: -50, to: 100}.ticks(25, 25)))
	wide := scale{low: 0.4, high: 30, to: 300, log: true}
	require.Equal(t, []string{"0.5", "1", "2", "5", "10", "20"}, labels(wide.ticks(0, 36)))
	require.Len(t, wide.ticks(0, 36), 6+9+3)
	narrow := scale{low: 0.4, high: 30, to: 100, log: true}
	require.Equal(t, []string{"1", "10"}, labels(narrow.ticks(0, 36)), "there is no room for more")
	full := scale{low: -450, high: -90, to: 66}
	require.Equal(t, []string{"−450", "−360", "−270", "−180", "−90"}, labels(full.ticks(45, 25)), "every other one has room")
	level := scale{low: 5, high: 5, to: 66}
	require.Equal(t, []string{"5"}, labels(level.ticks(0, 25)))
	require.Equal(t, 33.0, level.at(5))
	short := scale{low: 101, high: 199, to: 200, log: true}
	require.Equal(t, []string{"120", "140", "160", "180"}, labels(short.ticks(0, 36)), "no decade begins in it")
}

// Any axis has room for its ticks, and they lie on it, in order.
func TestTicksFit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		low := rapid.Float64Range(-1e5, 1e5).Draw(t, "low")
		s := scale{low: low, high: low + rapid.Float64Range(1e-3, 1e5).Draw(t, "span"), from: 10, to: rapid.Float64Range(80, 800).Draw(t, "to")}
		before := s.from - 36
		for _, tick := range s.ticks(0, 36) {
			at := s.at(tick.value)
			require.GreaterOrEqual(t, at, s.from-1e-6)
			require.LessOrEqual(t, at, s.to+1e-6)
			require.GreaterOrEqual(t, at-before, 36*(1-1e-6))
			before = at
		}
	})
}
