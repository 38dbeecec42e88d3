package hunting

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// scan feeds a log of so many seconds to a scanner.
func scan(length float64, f func(t float64) float64) Summary {
	s := NewScanner(Config{})
	for i := range int(length * rate) {
		t := float64(i) / rate
		s.Add(t, f(t), math.NaN())
	}
	return s.Summary()
}

func TestScanFindsTheStrongestStretch(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	got := scan(600, func(t float64) float64 {
		y := 16000 + 8*rng.NormFloat64()
		switch {
		case t > 100 && t < 160:
			y += 30 * math.Sin(2*math.Pi*1.9*t)
		case t > 400 && t < 450:
			y += 90 * math.Sin(2*math.Pi*2.7*t)
		}
		return y
	})
	require.True(t, got.Finding.Hunting(), "%+v", got)
	require.InDelta(t, 2.7, got.Frequency, 0.001)
	require.InDelta(t, 90, got.Amplitude, 1)
	require.GreaterOrEqual(t, got.From, 399.0)
	require.LessOrEqual(t, got.To, 451.0)
	require.Greater(t, got.Windows, 20)
	require.Greater(t, got.Hunting, 2)
	require.Less(t, got.Hunting, 12)
}

func TestScanOfALongHealthyLogIsQuiet(t *testing.T) {
	for seed := range uint64(2) {
		rng := rand.New(rand.NewPCG(seed, 1))
		coloured, slow := resonance(rng, 1.5, 0.35), wander(rng, 2)
		got := scan(900, func(float64) float64 {
			return 16000 + 10*rng.NormFloat64() + 15*coloured() + 10*slow()
		})
		require.False(t, got.Finding.Hunting(), "%+v", got)
	}
}

func TestScanOfShortAndEmptyLogs(t *testing.T) {
	require.Equal(t, Unknown, NewScanner(Config{}).Summary().Kind)
	require.Equal(t, Unknown, scan(0.3, func(float64) float64 { return 1 }).Kind)
	got := scan(12, func(t float64) float64 { return 16000 + 50*math.Sin(2*math.Pi*3*t) })
	require.True(t, got.Finding.Hunting())
	require.InDelta(t, 3, got.Frequency, 1e-4)
	require.Equal(t, 1, got.Windows)
}

func TestScannerHoldsOneWindowOnly(t *testing.T) {
	s := NewScanner(Config{})
	for i := range 60_000 {
		s.Add(float64(i)/rate, 16000, math.NaN())
		require.LessOrEqual(t, s.held.Len(), int(Window*rate)+1)
	}
}

func TestCutKeepsStretchesApart(t *testing.T) {
	s := NewScanner(Config{})
	for i := range 10_000 {
		at := float64(i) / rate
		if at > 8 {
			at += 5 // a gap
		}
		if i == 4001 {
			s.Cut()
		}
		s.Add(at, 16000+50*math.Sin(2*math.Pi*2*at), math.NaN())
	}
	require.True(t, s.Summary().Finding.Hunting())
}

// BenchmarkScanHour is a healthy log of an hour at 500 Hz.
func BenchmarkScanHour(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 1))
	noise := make([]float64, 1<<16)
	for i := range noise {
		noise[i] = 16000 + 10*rng.NormFloat64()
	}
	b.ReportAllocs()
	for b.Loop() {
		s := NewScanner(Config{})
		for i := range 1_800_000 {
			s.Add(float64(i)/rate, noise[i%len(noise)], math.NaN())
		}
		s.Summary()
	}
}
