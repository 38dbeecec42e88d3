package sinefit

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"govrig/rig/measure"
)

func series(n int, rate float64, f func(t float64) float64) measure.Series {
	var s measure.Series
	for i := range n {
		t := float64(i) / rate
		s.T, s.Y = append(s.T, t), append(s.Y, f(t))
	}
	return s
}

// The data set of a three- and four-parameter fit after IEEE 1057 / IEEE 1241:
// t = n/200, n = 0..999, y = 0.8·cos(2π·1.37t + 0.6) + 12.5. The values were
// computed once with a general least-squares library.
func dataset() measure.Series {
	return series(1000, 200, func(t float64) float64 { return 0.8*math.Cos(2*math.Pi*1.37*t+0.6) + 12.5 })
}

func TestThreeParametersAtTheTrueFrequency(t *testing.T) {
	fit, err := Three(dataset(), 1.37)
	require.NoError(t, err)
	require.InDelta(t, 0.660268491928, fit.A, 1e-11)
	require.InDelta(t, -0.451713978716, fit.B, 1e-11)
	require.InDelta(t, 12.5, fit.C, 1e-11)
	require.InDelta(t, 0.8, fit.Amplitude(), 1e-11)
	require.InDelta(t, 0.6, fit.Phase(), 1e-11)
}

func TestThreeParametersAtAWrongFrequency(t *testing.T) {
	fit, err := Three(dataset(), 1.40)
	require.NoError(t, err)
	require.InDelta(t, 0.762561867, fit.Amplitude(), 1e-8)
	require.InDelta(t, 0.131562879, fit.Phase(), 1e-8)
	require.InDelta(t, 12.483218619, fit.C, 1e-8)
	require.InDelta(t, 0.151950889, fit.Residual, 1e-8)
}

func TestFourParametersConverge(t *testing.T) {
	fit, err := Four(dataset(), 1.40)
	require.NoError(t, err)
	require.InDelta(t, 1.37, fit.Frequency, 1e-12)
	require.InDelta(t, 0.8, fit.Amplitude(), 1e-9)
	require.InDelta(t, 0.6, fit.Phase(), 1e-9)
	require.InDelta(t, 12.5, fit.C, 1e-9)
	require.LessOrEqual(t, fit.Steps, 8)
}

// Logarithmic decrement of a second-order ring, 2πζ/√(1−ζ²): text-book
// formula, from memory; the numbers are tabulated.
func TestDampedFitGivesTheLogarithmicDecrement(t *testing.T) {
	for _, row := range []struct{ zeta, decrement float64 }{
		{0.1, 0.631484}, {0.2, 1.282550}, {0.4, 2.742207}, {0.5, 3.627599}, {0.7, 6.158753},
	} {
		wd := math.Sqrt(1 - row.zeta*row.zeta)
		s := series(6000, 500, func(t float64) float64 {
			return 16000 + 300*math.Exp(-row.zeta*t)*math.Cos(wd*t+0.3)
		})
		fit, err := Damped(s, 1.1*wd/(2*math.Pi))
		require.NoError(t, err)
		require.InDelta(t, row.decrement, -fit.Growth/fit.Frequency, 1e-6, "ζ=%g", row.zeta)
		require.InDelta(t, wd/(2*math.Pi), fit.Frequency, 1e-7)
	}
}

// Cramér-Rao (Kay, and IEEE 1057, from memory): var(ω̂) ≥ 24σ²/(Â²N(N²−1)) in
// (rad/sample)², var(Â) ≥ 2σ²/N. The fit must reach the bound, and its own
// standard errors must state it.
func TestScatterReachesTheCramerRaoBound(t *testing.T) {
	const n, sigma, amplitude, runs = 500, 0.5, 1.0, 200
	rng := rand.New(rand.NewPCG(1, 2))
	var sumF, sumA float64
	var last Sine
	for range runs {
		s := series(n, 100, func(t float64) float64 {
			return amplitude*math.Cos(2*math.Pi*3.3*t+1) + sigma*rng.NormFloat64()
		})
		fit, err := Four(s, 3.35)
		require.NoError(t, err)
		sumF += math.Pow(2*math.Pi*(fit.Frequency-3.3)/100, 2)
		sumA += math.Pow(fit.Amplitude()-amplitude, 2)
		last = fit
	}
	boundF := math.Sqrt(24 * sigma * sigma / (amplitude * amplitude * n * (n*n - 1)))
	boundA := math.Sqrt(2 * sigma * sigma / n)
	require.InEpsilon(t, boundF, math.Sqrt(sumF/runs), 0.15)
	require.InEpsilon(t, boundA, math.Sqrt(sumA/runs), 0.15)
	require.InEpsilon(t, boundF*100/(2*math.Pi), last.FrequencyError, 0.15)
	require.InEpsilon(t, boundA, last.AmplitudeError, 0.15)
}

func TestIrregularTimesFitExactly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		f := rapid.Float64Range(0.5, 5).Draw(t, "frequency")
		offset := rapid.Float64Range(-1e4, 1e4).Draw(t, "offset")
		var s measure.Series
		for at := 3.0; at < 11; at += 0.001 + 0.02*rng.Float64() {
			s.T, s.Y = append(s.T, at), append(s.Y, 60*math.Sin(2*math.Pi*f*at)+offset)
		}
		fit, err := Four(s, f*1.01)
		require.NoError(t, err)
		require.InDelta(t, f, fit.Frequency, 1e-7)
		require.InDelta(t, 60, fit.Amplitude(), 1e-5)
	})
}

func TestNoFitIsAnError(t *testing.T) {
	flat := series(100, 100, func(float64) float64 { return 3 })
	for name, try := range map[string]func() error{
		"too few":     func() error { _, err := Three(series(3, 1, math.Sin), 0.1); return err },
		"flat":        func() error { _, err := Four(flat, 2); return err },
		"zero hertz":  func() error { _, err := Three(dataset(), 0); return err },
		"not finite":  func() error { _, err := Four(dataset(), math.NaN()); return err },
		"tiny window": func() error { _, err := Four(series(50, 1e6, math.Sin), 0.01); return err },
	} {
		require.ErrorIs(t, try(), ErrFit, name)
	}
}
