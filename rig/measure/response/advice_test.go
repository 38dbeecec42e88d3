package response

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
	"govrig/rig/measure/internal/looptest"
	"govrig/rig/measure/loop"
)

// swept are the lines of a response between two frequencies, each with a random
// error of the size that it states.
func swept(rng *rand.Rand, h loop.Response, from, to float64, n int, relative float64) (points []Point) {
	for i := range n {
		f := from * math.Pow(to/from, float64(i)/float64(n-1))
		e := complex(1+relative*rng.NormFloat64(), relative*rng.NormFloat64())
		points = append(points, Point{
			Frequency: f, H: -h(2*math.Pi*f) * e, Coherence: 1, Usable: true,
			GainError: relative, PhaseError: relative * 180 / math.Pi, Input: 1,
		})
	}
	return points
}

// derivative is PID with a filter and dead time, Kp(1 + 1/(Ti·s) + Td·s/(Td·s/N
// + 1))e^{−Ls} (any text-book of PID control), of which PI with dead time is no
// description.
func derivative(kp, ti, td, n, delay float64) loop.Response {
	return func(w float64) complex128 {
		s := complex(0, w)
		return complex(kp, 0) * (1 + 1/(s*complex(ti, 0)) + complex(td, 0)*s/(1+s*complex(td/n, 0))) * loop.Delay(delay)(w)
	}
}

var target = loop.Target{Phase: 45, Gain: 2, Sensitivity: 2}

// On random loops, with and without a derivative part, the factor from the
// measured lines is the true one, which scipy-checked margins give on the exact
// loop over all frequencies; or it is said to be what the band shows, and is no
// more than the true one. The factor is safe with two standard deviations.
func TestAdviceFromMeasuredLines(t *testing.T) {
	bounded, exact := 0, 0
	for seed := range uint64(60) {
		rng := rand.New(rand.NewPCG(seed, 61))
		td := 0.0
		if seed%2 == 0 {
			td = 0.05 + 0.15*rng.Float64()
		}
		h := derivative(0.3+2*rng.Float64(), 0.3+3*rng.Float64(), td, 8, 0.02+0.08*rng.Float64())
		plant := looptest.Lag(2+4*rng.Float64(), 0.5+rng.Float64()).Times(looptest.Lag(1, 0.03))
		whole, err := loop.Advise([]loop.Point{{Loop: h.Times(plant), Band: loop.Band{Min: 1e-2, Max: 1e3}}}, loop.Wish{Target: target})
		require.NoError(t, err)
		truth := whole.Factor
		m, errMeasured := WithPlant(swept(rng, h, 0.05, 8, 22, 0.01), plant)
		require.NoError(t, errMeasured)
		a, errAdvice := loop.Advise([]loop.Point{{Name: "p", Loop: m.Loop, Band: m.Band, Spread: m.Spread}}, loop.Wish{Target: target})
		require.NoError(t, errAdvice)
		switch {
		case !truth.OK() || truth.Value > 25:
			continue
		case !a.Factor.OK():
			require.Less(t, truth.Value, 0.1, "seed %d: %s", seed, a.Factor.Why)
		case a.AtLeast:
			require.Less(t, a.Factor.Value, 1.06*truth.Value, "seed %d", seed)
			require.NotEmpty(t, a.Factor.Warnings)
			bounded++
		default:
			require.InEpsilon(t, truth.Value, a.Factor.Value, 0.08, "seed %d", seed)
			exact++
		}
	}
	t.Logf("exact %d, bounded by the band %d", exact, bounded)
	require.Greater(t, exact, 25)
}

// A sweep that ends below where the phase reaches −180° shows no margin without
// end: it shows at least so much.
func TestNothingIsWithoutEnd(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 62))
	h, plant := loop.Response(loop.PI{Kp: 1, Ti: 1, Delay: 0.05}.At), looptest.Lag(2, 1)
	whole, err := loop.MarginsOf(h.Times(plant), loop.Band{Min: 1e-2, Max: 1e3})
	require.NoError(t, err)
	m, err := WithPlant(swept(rng, h, 0.05, 3, 14, 0.002), plant)
	require.NoError(t, err)
	got, err := loop.MarginsOf(m.Loop, m.Band)
	require.NoError(t, err)
	require.False(t, got.Gain.OK())
	require.True(t, got.GainAtLeast.OK())
	require.Less(t, got.GainAtLeast.Value, whole.Gain.Value)
	require.InEpsilon(t, cmplx.Abs(1/(h(m.Band.Max)*plant(m.Band.Max))), got.GainAtLeast.Value, 0.01)
	require.Contains(t, got.GainAtLeast.Detail, "at least")

	low, err := WithPlant(swept(rng, h.Scaled(0.01), 0.5, 8, 14, 0.002), plant)
	require.NoError(t, err)
	none, err := loop.MarginsOf(low.Loop, low.Band)
	require.NoError(t, err)
	require.Contains(t, none.Phase.Why, "below 1 everywhere")
}

// A derivative part makes the fit of PI with dead time poor, and it says so;
// of PI itself it is good.
func TestAPoorFitIsNotGood(t *testing.T) {
	for seed := range uint64(30) {
		rng := rand.New(rand.NewPCG(seed, 63))
		kp, ti, delay := 0.5+rng.Float64(), 0.5+rng.Float64(), 0.01+0.05*rng.Float64()
		good, err := FitPI(swept(rng, loop.PI{Kp: kp, Ti: ti, Delay: delay}.At, 0.1, 8, 16, 0.01))
		require.NoError(t, err)
		require.True(t, good.Good(), "seed %d: %+v", seed, good)
		poor, err := FitPI(swept(rng, derivative(kp, ti, 0.15, 8, delay), 0.1, 8, 16, 0.01))
		require.True(t, err != nil || !poor.Good(), "seed %d: %+v", seed, poor)
	}
}

// passed plays a multisine through a part and reads its response.
func passed(t *testing.T, amplitude float64, part func(x float64) float64, noise float64) []Point {
	m, err := NewMultisine(8, Harmonics(8, 0.25, 8, 14), amplitude)
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(3, 64))
	var in, out measure.Series
	for i := range 40 * 250 {
		at := float64(i) / 250
		in.T, in.Y = append(in.T, at), append(in.Y, m.At(at))
		out.T, out.Y = append(out.T, at), append(out.Y, -part(m.At(at))+noise*rng.NormFloat64())
	}
	points, err := Estimate(in, out, m, 1)
	require.NoError(t, err)
	return points
}

func clamp(x, d float64) float64 { return math.Max(-d, math.Min(d, x)) }

// Two amplitudes tell a dead band from a linear part and from a limited one,
// and what the dead band takes of the larger: by the random-input describing
// function, within what 14 lines differ from Gaussian noise.
func TestTwoAmplitudes(t *testing.T) {
	dead := func(d float64) func(float64) float64 { return func(x float64) float64 { return x - clamp(x, d) } }
	linear := Compare(passed(t, 10, func(x float64) float64 { return 2 * x }, 2), passed(t, 30, func(x float64) float64 { return 2 * x }, 2))
	require.Equal(t, Linear, linear.Kind, "%+v", linear)
	require.InDelta(t, 0, linear.Change, 0.2)
	require.InEpsilon(t, 3, linear.Ratio, 1e-6)
	limited := Compare(passed(t, 10, func(x float64) float64 { return clamp(x, 20) }, 0.5), passed(t, 30, func(x float64) float64 { return clamp(x, 20) }, 0.5))
	require.Equal(t, Dependent, limited.Kind, "%+v", limited)
	require.Less(t, limited.Change, -1.0)
	for _, d := range []float64{10, 20, 35} {
		small, large := passed(t, 10, dead(d), 0.3), passed(t, 30, dead(d), 0.3)
		c := Compare(small, large)
		require.Equal(t, DeadBand, c.Kind, "±%g: %+v", d, c)
		var gains []float64
		for _, p := range large {
			gains = append(gains, p.Gain())
		}
		require.InEpsilon(t, 1, c.Beyond.Value*median(gains), 0.06, "±%g: %+v", d, c)
	}
}

// A governor with a dead band bears less gain than its small sway shows. What
// two amplitudes say that the dead band still takes makes it right.
func TestAdviceBehindADeadBand(t *testing.T) {
	h, plant := loop.Response(loop.PI{Kp: 1, Ti: 1, Delay: 0.05}.At), looptest.Lag(2, 0.7)
	advised := func(points []Point, k float64) float64 {
		for i := range points {
			points[i].H *= h(points[i].Omega())
		}
		m, err := WithPlant(points, plant.Scaled(k))
		require.NoError(t, err)
		a, err := loop.Advise([]loop.Point{{Loop: m.Loop, Band: m.Band}}, loop.Wish{Target: target})
		require.NoError(t, err)
		require.True(t, a.Factor.OK(), a.Factor.Why)
		return a.Factor.Value
	}
	truth := advised(passed(t, 10, func(x float64) float64 { return x }, 0.05), 1)
	dead := func(x float64) float64 { return x - clamp(x, 15) }
	small, large := passed(t, 10, dead, 0.05), passed(t, 30, dead, 0.05)
	c := Compare(small, large)
	require.Equal(t, DeadBand, c.Kind)
	require.Greater(t, advised(small, 1), 1.5*truth, "alone it advises too much")
	require.InEpsilon(t, truth, advised(large, c.Beyond.Value), 0.08)
}

func TestTooLittleToCompare(t *testing.T) {
	points := passed(t, 10, func(x float64) float64 { return x }, 0.1)
	require.Equal(t, Untold, Compare(points, points).Kind, "the same amplitude twice")
	require.Equal(t, Untold, Compare(points, nil).Kind)
	require.Equal(t, Untold, Compare(passed(t, 1, func(x float64) float64 { return x }, 60), points).Kind)
}

// A slow governor's lines from 0.05 Hz come out of a drifting, noisy log as
// they are.
func TestLinesFromATwentiethOfAHertz(t *testing.T) {
	m, err := NewMultisine(20, Harmonics(20, 0.05, 5, 16), 20)
	require.NoError(t, err)
	law := loop.PI{Kp: 0.05, Ti: 6, Delay: 0.03}
	rng := rand.New(rand.NewPCG(5, 65))
	var in, out measure.Series
	for i := range 80 * 100 {
		at := float64(i) / 100
		y := 1500 + 0.05*at + 0.3*rng.NormFloat64()
		for k, l := range m.Lines {
			w := 2 * math.Pi * m.Frequency(k)
			h := -law.At(w)
			y += l.Amplitude * cmplx.Abs(h) * math.Cos(w*at+l.Phase+cmplx.Phase(h))
		}
		in.T, in.Y = append(in.T, at), append(in.Y, 13_500+m.At(at))
		out.T, out.Y = append(out.T, at), append(out.Y, y)
	}
	points, err := Estimate(in, out, m, 1)
	require.NoError(t, err)
	require.InDelta(t, 0.05, points[0].Frequency, 1e-9)
	for _, p := range points {
		require.True(t, p.Usable)
		require.Less(t, cmplx.Abs(p.H/-law.At(p.Omega())-1), 5*p.GainError+0.02, "%g Hz", p.Frequency)
	}
	fit, err := FitPI(points)
	require.NoError(t, err)
	require.True(t, fit.Good())
	require.InEpsilon(t, 6, fit.Ti, 0.05)
}
