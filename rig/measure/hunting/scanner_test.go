package hunting

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure/describing"
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
	require.Greater(t, got.Windows, 30)
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

// Exact limit cycle of a relay ±d around K·e^{−Ls}/(Ts + 1): P =
// 2T·ln(2e^{L/T} − 1), a = Kd(1 − e^{−L/T}); Åström & Hägglund, Automatica
// 20(5), 1984 (from memory). The ultimate gain estimated from it is wrong by a
// known amount, because the describing function neglects the harmonics.
func TestRelayCycleFromSamplesWithItsKnownError(t *testing.T) {
	for _, row := range []struct{ l, period, a, ku, trueKu, errorPercent float64 }{
		{0.1, 0.381806, 0.095163, 13.379624, 16.350554, -18.170},
		{0.2, 0.733179, 0.181269, 7.024024, 8.502425, -17.388},
		{0.5, 1.663593, 0.393469, 3.235931, 3.806883, -14.998},
		{1, 2.979760, 0.632121, 2.014235, 2.261826, -10.947},
		{5, 11.379545, 0.993262, 1.281877, 1.132112, 13.229},
	} {
		// T = 10 s, so that 2 ms between samples are short beside it.
		s := sampled(20*row.period*10, relayCycle(row.l*10, 10))
		c, err := ReadCycle(s)
		require.NoError(t, err)
		require.InEpsilon(t, row.period*10, c.Period, 1e-4)
		require.InEpsilon(t, row.a, c.Amplitude, 1e-3)
		require.GreaterOrEqual(t, c.Cycles, 18)
		ku := describing.UltimateGain(1, c.Amplitude, 0)
		require.InEpsilon(t, row.ku, ku, 1e-3)
		require.InDelta(t, row.errorPercent, 100*(ku/row.trueKu-1), 0.1)
	}
}

// Integrator with dead time: a triangle of period 4L and amplitude kdL; the
// error of the ultimate gain is exactly 8/π² − 1.
func TestRelayOnAnIntegrator(t *testing.T) {
	const l = 0.5
	c, err := ReadCycle(sampled(40, func(x float64) float64 {
		_, part := math.Modf(x / (4 * l))
		return l * (4*math.Abs(part-0.5) - 1)
	}))
	require.NoError(t, err)
	require.InDelta(t, 4*l, c.Period, 1e-6)
	trueKu := math.Pi / (2 * l)
	require.InDelta(t, 8/(math.Pi*math.Pi), describing.UltimateGain(1, c.Amplitude, 0)/trueKu, 1e-3)
}

// relayCycle is the output of a lag of T seconds in the limit cycle of a relay
// of ±1 with dead time l: arcs between ∓a that start anew every half period.
func relayCycle(l, T float64) func(t float64) float64 {
	half := T * math.Log(2*math.Exp(l/T)-1)
	a := -math.Expm1(-l / T)
	return func(t float64) float64 {
		n, part := math.Modf(t / half)
		sign := 1 - 2*math.Mod(n, 2)
		return sign * (1 - (1+a)*math.Exp(-part*half/T))
	}
}

func TestReadCycleNeedsAWholeCycle(t *testing.T) {
	_, err := ReadCycle(sampled(0.4, func(t float64) float64 { return math.Sin(2 * math.Pi * t) }))
	require.Error(t, err)
	_, err = ReadCycle(sampled(4, func(float64) float64 { return 3 }))
	require.Error(t, err)
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
