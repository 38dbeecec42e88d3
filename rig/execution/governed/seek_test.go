package governed

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// The search finds the width of a governor whose select line is not quite as
// its paper says, in no more than four tries.
func TestSeekFindsTheWidth(t *testing.T) {
	paper := func(width float64) float64 { return 10_000 + 10e6*(width-1.1e-3) }
	for name, speed := range map[string]func(width float64) float64{
		"as on paper": paper,
		"shifted":     func(w float64) float64 { return paper(w) + 700 },
		"steeper":     func(w float64) float64 { return 14_000 + 1.4*(paper(w)-13_200) },
		"flatter":     func(w float64) float64 { return 14_000 + 0.7*(paper(w)-13_200) },
		"curved":      func(w float64) float64 { return paper(w) - 300*math.Sin((w-1.1e-3)/0.8e-3*math.Pi) },
		"in steps":    func(w float64) float64 { return 25 * math.Round(paper(w)/25) },
	} {
		s := Search{Low: 1.1e-3, High: 1.9e-3, slope: 10e6, first: 1.54e-3, Wanted: 14_400, Near: 14}
		for width, more := s.Next(); more; width, more = s.Next() {
			require.GreaterOrEqual(t, width, s.Low)
			require.LessOrEqual(t, width, s.High)
			s.Tries = append(s.Tries, Attempt{width, speed(width)})
		}
		require.True(t, s.reached(), "%s: %+v", name, s.Tries)
		require.LessOrEqual(t, len(s.Tries), 4, name)
	}
}

func TestSeekKnowsWhatCannotBeReached(t *testing.T) {
	s := Search{Low: 1.1e-3, High: 1.9e-3, slope: 10e6, first: 1.54e-3, Wanted: 14_400, Near: 14}
	for width, more := s.Next(); more; width, more = s.Next() {
		s.Tries = append(s.Tries, Attempt{width, 1_000 * math.Round(14.2+(width-1.5e-3)*10e3)})
	}
	require.False(t, s.reached())
	other, ok := s.Across()
	require.True(t, ok)
	require.Equal(t, []float64{14_000, 15_000}, []float64{s.Best().Speed, other.Speed}, "the nearest on both sides")

	s = Search{Low: 1.1e-3, High: 1.9e-3, slope: 10e6, first: 1.54e-3, Wanted: 14_400, Near: 14}
	for width, more := s.Next(); more; width, more = s.Next() {
		s.Tries = append(s.Tries, Attempt{width, 9_000})
	}
	require.False(t, s.reached())
	_, ok = s.Across()
	require.False(t, ok)
}

// Travel as a transmitter shows it: 1100 and 1900 µs are 100 % either way
// (common practice, no source).
func TestTravel(t *testing.T) {
	s := Search{Low: 1.1e-3, High: 1.9e-3}
	for width, want := range map[float64]float64{1.1e-3: -100, 1.5e-3: 0, 1.612e-3: 28, 1.9e-3: 100} {
		require.InDelta(t, want, s.Travel(width), 1e-9)
	}
}
