package hunting

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"govrig/rig/measure"
)

func TestHealthyNoisyTracesGiveNoFalseAlarm(t *testing.T) {
	for seed := range uint64(200) {
		f := Detect(healthy(seed), Config{})
		require.False(t, f.Hunting(), "seed %d: %+v", seed, f)
	}
}

func TestFindsASwingInTheNoise(t *testing.T) {
	for seed := range uint64(30) {
		rng := rand.New(rand.NewPCG(seed, 2))
		want := 0.8 + 4*rng.Float64()
		coloured := resonance(rng, 1+2*rng.Float64(), 0.3)
		s := sampled(8/want+2+10*rng.Float64(), func(x float64) float64 {
			return 16000 + 15*coloured() + 10*rng.NormFloat64() + 80*math.Sin(2*math.Pi*want*x+1)
		})
		f := Detect(s, Config{})
		require.True(t, f.Hunting(), "seed %d: %+v", seed, f)
		require.InEpsilon(t, want, f.Frequency, 0.01)
		require.InDelta(t, 80, f.Amplitude, 12)
		require.Greater(t, f.Confidence, 0.999)
	}
}

// A pure sine on a speed is measured as it is, whatever the sampling.
func TestCleanSwingIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 4))
		frequency := rapid.Float64Range(0.7, 8).Draw(t, "frequency")
		amplitude := rapid.Float64Range(12, 300).Draw(t, "amplitude")
		uneven := rapid.Bool().Draw(t, "uneven")
		var s measure.Series
		for at := 5.0; at < 20; {
			s.T, s.Y = append(s.T, at), append(s.Y, 16000+amplitude*math.Sin(2*math.Pi*frequency*at))
			if uneven {
				at += 0.001 + 0.01*rng.Float64()
			} else {
				at += 1 / rate
			}
		}
		f := Detect(s, Config{})
		require.True(t, f.Hunting(), "%+v", f)
		require.InDelta(t, frequency, f.Frequency, 1e-6)
		require.InDelta(t, amplitude, f.Amplitude, 1e-4*amplitude)
	})
}

func TestADyingRingIsNoHunting(t *testing.T) {
	for _, decay := range []float64{0.1, 0.3, 0.6, 1} { // 1/s; 0.1 over 15 s falls to a fifth
		for seed := range uint64(8) {
			rng := rand.New(rand.NewPCG(seed, 5))
			frequency := 0.8 + 4*rng.Float64()
			f := Detect(sampled(15, func(x float64) float64 {
				return 16000 + 10*rng.NormFloat64() + 400*math.Exp(-decay*x)*math.Sin(2*math.Pi*frequency*x)
			}), Config{})
			require.Equal(t, Ringing, f.Kind, "decay %g seed %d: %+v", decay, seed, f)
			require.InDelta(t, -decay, f.Growth, 0.05*decay+3*f.GrowthError)
			require.InEpsilon(t, frequency, f.Frequency, 0.01)
		}
	}
}

func TestAGrowingSwingIsHunting(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 5))
	f := Detect(sampled(12, func(x float64) float64 {
		return 16000 + 5*rng.NormFloat64() + 20*math.Exp(0.2*x)*math.Sin(2*math.Pi*2*x)
	}), Config{})
	require.True(t, f.Hunting(), "%+v", f)
	require.InDelta(t, 0.2, f.Growth, 0.01)
	require.Contains(t, f.Why, "grows")
}

func TestHuntingThatBeginsWithinTheWindow(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 5))
	f := Detect(sampled(30, func(x float64) float64 {
		return 16000 + 5*rng.NormFloat64() + 150/(1+math.Exp(11-x))*math.Sin(2*math.Pi*0.7*x)
	}), Config{})
	require.True(t, f.Hunting(), "%+v", f)
	require.InDelta(t, 0.7, f.Frequency, 0.002)
	require.InDelta(t, 150, f.Amplitude, 8)
	require.Greater(t, f.From, 10.0)
}

// The cycle of a relay with dead time is no sine; frequency is exact, and the
// amplitude that of its fundamental, 8/π² of the peak of a triangle.
func TestATriangleIsMeasuredByItsFundamental(t *testing.T) {
	f := Detect(sampled(20, func(x float64) float64 {
		_, part := math.Modf(x * 1.5)
		return 16000 + 100*(4*math.Abs(part-0.5)-1)
	}), Config{})
	require.True(t, f.Hunting())
	require.InDelta(t, 1.5, f.Frequency, 1e-3)
	require.InDelta(t, 100*8/(math.Pi*math.Pi), f.Amplitude, 0.5)
	require.InDelta(t, 200, f.Swing, 7, "its corners need harmonics that the noise would hide")
}

// A cycle of 0.56 Hz needs no more than ten seconds, and is not called calm
// where six show it less than five times.
func TestASlowCycleShowsInTenSeconds(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 9))
	s := sampled(10, func(x float64) float64 { return 16000 + 4*rng.NormFloat64() + 120*math.Sin(2*math.Pi*0.56*x) })
	f := Detect(s, Config{})
	require.True(t, f.Hunting(), "%+v", f)
	require.InDelta(t, 0.56, f.Frequency, 0.005)
	require.InDelta(t, 240, f.Swing, 8)
	require.InDelta(t, 0.5, f.Lowest, 0.01)
	short := Detect(s.Between(0, 6), Config{})
	require.InDelta(t, 5/5.96, short.Lowest, 0.01)
	require.False(t, short.Hunting())
}

// Three slow swings are no five, and too many to be called calm.
func TestASwingTooSlowForTheWindowIsNotCalledCalm(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 9))
	f := Detect(sampled(10, func(x float64) float64 {
		return 16000 + 10*rng.NormFloat64() + 400*math.Sin(2*math.Pi*0.3*x)
	}), Config{})
	require.Equal(t, Unknown, f.Kind, "%+v", f)
	require.Contains(t, f.Why, "slower")
}

// Ten samples a second of a ripple at 9.2 Hz look like 0.8 Hz. Even ones cannot
// tell; uneven ones can.
func TestSparseSamplesDoNotTellAnAlias(t *testing.T) {
	sparsely := func(frequency, jitter float64) measure.Series {
		rng := rand.New(rand.NewPCG(2, 9))
		var s measure.Series
		for i := range 400 {
			at := 0.1 * (float64(i) + jitter*rng.Float64())
			s.T, s.Y = append(s.T, at), append(s.Y, 16000+80*math.Sin(2*math.Pi*frequency*at)+2*rng.NormFloat64())
		}
		return s
	}
	for _, frequency := range []float64{0.8, 9.2} {
		f := Detect(sparsely(frequency, 0), Config{})
		require.Equal(t, Unknown, f.Kind, "%+v", f)
		require.Contains(t, f.Why, "cannot tell")
	}
	require.True(t, Detect(sparsely(0.8, 0.6), Config{}).Hunting())
	require.False(t, Detect(sparsely(9.2, 0.6), Config{}).Hunting())
}

func TestAPhaseThatWandersIsStillHunting(t *testing.T) {
	for seed := range uint64(20) {
		rng := rand.New(rand.NewPCG(seed, 6))
		phase := 0.0
		f := Detect(sampled(15, func(float64) float64 {
			phase += 2*math.Pi*2/rate + 0.3*math.Sqrt(2/rate)*rng.NormFloat64()
			return 16000 + 10*rng.NormFloat64() + 60*math.Sin(phase)
		}), Config{})
		require.True(t, f.Hunting(), "seed %d: %+v", seed, f)
		require.InEpsilon(t, 2, f.Frequency, 0.06)
		require.InEpsilon(t, 60, f.Amplitude, 0.2)
	}
}

func TestASmallSwingIsSmall(t *testing.T) {
	s := sampled(15, func(x float64) float64 { return 16000 + 3*math.Sin(2*math.Pi*2*x) })
	require.Equal(t, Small, Detect(s, Config{}).Kind)
	require.True(t, Detect(s, Config{Least: 1}).Hunting())
}

func TestAFastRippleIsOutOfReach(t *testing.T) {
	s := sampled(15, func(x float64) float64 { return 16000 + 50*math.Sin(2*math.Pi*80*x) })
	require.False(t, Detect(s, Config{}).Hunting())
}

func TestWindowsThatCannotTell(t *testing.T) {
	whole := sampled(15, func(x float64) float64 { return 16000 + 50*math.Sin(2*math.Pi*2*x) })
	hole := measure.Series{
		T: append(append([]float64{}, whole.T[:3000]...), whole.T[3500:]...),
		Y: append(append([]float64{}, whole.Y[:3000]...), whole.Y[3500:]...),
	}
	for name, s := range map[string]measure.Series{
		"empty": {}, "few": whole.Between(0, 0.05), "short": whole.Between(0, 0.5), "hole": hole,
		"bad": {T: []float64{0, 0}, Y: []float64{1, 2}},
	} {
		f := Detect(s, Config{})
		require.Equal(t, Unknown, f.Kind, name)
		require.NotEmpty(t, f.Why)
	}
	require.Equal(t, Quiet, Detect(sampled(15, func(float64) float64 { return 16000 }), Config{}).Kind)
	require.Equal(t, Quiet, Detect(sampled(2, func(x float64) float64 {
		return 16000 + 50*math.Sin(2*math.Pi*2*x)
	}), Config{}).Kind, "four cycles are too few to call it sustained")
}

func BenchmarkDetectMinute(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 2))
	s := sampled(60, func(x float64) float64 { return 16000 + 10*rng.NormFloat64() + 60*math.Sin(12*x) })
	b.ReportAllocs()
	for b.Loop() {
		Detect(s, Config{})
	}
}
