package response

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"govrig/rig/measure"
	"govrig/rig/measure/internal/looptest"
	"govrig/rig/measure/loop"
)

const rate = 500.0

// recorded is the steady answer of a closed loop, sampled at 500 Hz: a
// disturbance is added to the speed that the governor sees. The governor's
// transfer from speed to throttle is −c.
func recorded(m Multisine, c, plant loop.Response, periods int, noise float64, seed uint64) (speed, throttle measure.Series) {
	rng := rand.New(rand.NewPCG(seed, 5))
	seen, sent := make([]complex128, len(m.Lines)), make([]complex128, len(m.Lines))
	for k, l := range m.Lines {
		w := 2 * math.Pi * m.Frequency(k)
		r := cmplx.Rect(l.Amplitude, l.Phase)
		seen[k] = r / (1 + c(w)*plant(w))
		sent[k] = -c(w) * seen[k]
	}
	for i := range int(math.Round(float64(periods) * m.Period * rate)) {
		t := float64(i) / rate
		y, u := 15000.0, 1500.0
		for k := range m.Lines {
			e := cmplx.Exp(complex(0, 2*math.Pi*m.Frequency(k)*t))
			y += real(seen[k] * e)
			u += real(sent[k] * e)
		}
		speed.T, speed.Y = append(speed.T, t), append(speed.Y, y)
		throttle.T, throttle.Y = append(throttle.T, t), append(throttle.Y, u+noise*rng.NormFloat64())
	}
	return speed, throttle
}

// PI with dead time on an integrator, a lag and a motor-like plant: margins
// that two independent programs agree on (scipy, Octave), met to 0.1 dB and
// 0.5° from noisy samples.
func TestMarginsOfTextbookLoopsFromSampledData(t *testing.T) {
	tests := []struct {
		name               string
		pi                 loop.PI
		plant              loop.Response
		from, to           float64 // rad/s
		wc, pm, dm, gm, ms float64
	}{
		{"A", loop.PI{Kp: 0.5, Ti: 4, Delay: 1}, looptest.Integrator(1), 0.1, 3,
			0.549342, 34.055218, 1.081977, 2.742694, 1.963748},
		{"B", loop.PI{Kp: 2, Ti: 1, Delay: 0.2}, looptest.Lag(1, 1), 0.4, 15,
			2, 67.081688, 0.585398, 3.926991, 1.437591},
		{"C", loop.PI{Kp: 1, Ti: 2, Delay: 0.05}, looptest.Integrator(2).Times(looptest.Lag(1, 0.1)), 0.4, 25,
			2.019605, 58.891058, 0.508933, 10.144389, 1.285649},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			period := 4 * math.Pi / tt.from
			m, err := NewMultisine(period, Harmonics(period, tt.from/2/math.Pi, tt.to/2/math.Pi, 14), 20)
			require.NoError(t, err)
			speed, throttle := recorded(m, tt.pi.At, tt.plant, 3, 0.5, 1)
			points, err := Estimate(speed, throttle, m, 1)
			require.NoError(t, err)

			fit, err := FitPI(points)
			require.NoError(t, err)
			require.InEpsilon(t, tt.pi.Kp, fit.Kp, 0.01)
			require.InEpsilon(t, tt.pi.Ti, fit.Ti, 0.05)
			require.InDelta(t, tt.pi.Delay, fit.Delay, 0.01*tt.pi.Delay+0.001)
			near(t, fit.At, tt.plant, loop.Band{Min: 0.01, Max: 100}, tt.wc, tt.pm, tt.dm, tt.gm, tt.ms)

			measured, err := WithPlant(points, tt.plant)
			require.NoError(t, err)
			near(t, func(w float64) complex128 { return measured.Loop(w) / tt.plant(w) }, tt.plant, measured.Band,
				tt.wc, tt.pm, tt.dm, tt.gm, tt.ms)
		})
	}
}

func near(t *testing.T, governor, plant loop.Response, b loop.Band, wc, pm, dm, gm, ms float64) {
	got, err := loop.MarginsOf(governor.Times(plant), b)
	require.NoError(t, err)
	require.InEpsilon(t, wc, got.Crossover.Value, 0.01)
	require.InDelta(t, pm, got.Phase.Value, 0.5)
	require.InEpsilon(t, dm, got.Delay.Value, 0.02)
	require.InDelta(t, loop.Decibels(gm), loop.Decibels(got.Gain.Value), 0.1)
	require.InDelta(t, loop.Decibels(ms), loop.Decibels(got.Sensitivity.Value), 0.1)
}

func TestCleanLinesAreExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pi := loop.PI{
			Kp:    rapid.Float64Range(0.1, 5).Draw(t, "kp"),
			Ti:    rapid.Float64Range(0.3, 3).Draw(t, "ti"),
			Delay: rapid.Float64Range(0, 0.1).Draw(t, "delay"),
		}
		m, err := NewMultisine(4, []int{1, 3, 6, 11, 17}, 10)
		require.NoError(t, err)
		speed, throttle := recorded(m, pi.At, looptest.Lag(0.4, 1), 3, 0, 1)
		points, err := Estimate(speed, throttle, m, 0)
		require.NoError(t, err)
		for _, p := range points {
			require.InDelta(t, 0, cmplx.Abs(p.H/-pi.At(p.Omega())-1), 1e-8)
			require.InDelta(t, 1, p.Coherence, 1e-9)
		}
		fit, err := FitPI(points)
		require.NoError(t, err)
		require.InEpsilon(t, pi.Kp, fit.Kp, 1e-6)
		require.InEpsilon(t, pi.Ti, fit.Ti, 1e-5)
		require.InDelta(t, pi.Delay, fit.Delay, 1e-7)
		require.Less(t, fit.Residual, 1e-6)
	})
}

// Random error of a gain, Bendat & Piersol, Random Data (from memory):
// √(1−γ²)/(|γ|√(2n)). The scatter over many runs must agree with it, and so
// must the error that each run states.
func TestStatedConfidenceIsTheScatter(t *testing.T) {
	pi, plant := loop.PI{Kp: 1, Ti: 1, Delay: 0.05}, looptest.Lag(0.5, 1)
	m, err := NewMultisine(2, []int{4}, 10)
	require.NoError(t, err)
	const runs, periods = 150, 8
	var scatter, stated, formula float64
	for seed := range uint64(runs) {
		speed, throttle := recorded(m, pi.At, plant, periods, 25, seed)
		points, err := Estimate(speed, throttle, m, 0)
		require.NoError(t, err)
		p := points[0]
		scatter += math.Pow(p.Gain()/cmplx.Abs(pi.At(p.Omega()))-1, 2)
		stated += p.GainError * p.GainError
		formula += (1 - p.Coherence) / (p.Coherence * 2 * periods)
	}
	require.InEpsilon(t, math.Sqrt(scatter), math.Sqrt(stated), 0.2)
	require.InEpsilon(t, math.Sqrt(scatter), math.Sqrt(formula), 0.2)
}

func TestALineInTheNoiseIsNotUsed(t *testing.T) {
	m, err := NewMultisine(2, []int{2, 4}, 1)
	require.NoError(t, err)
	m.Lines[1].Amplitude = 0.001
	speed, throttle := recorded(m, loop.PI{Kp: 1, Ti: 1}.At, looptest.Lag(0.5, 1), 10, 1, 3)
	points, err := Estimate(speed, throttle, m, 0)
	require.NoError(t, err)
	require.True(t, points[0].Usable)
	require.False(t, points[1].Usable)
	require.Len(t, Usable(points), 1)
	_, err = FitPI(points)
	require.ErrorIs(t, err, ErrInput)
}

// A staircase that holds a sine from each of its moments on is that sine times
// sinc(fT)·e^{−jωT/2} (zero-order hold, any text-book of sampled control), whatever
// the steps' moments and the samples' have to do with each other.
func TestHeldOutput(t *testing.T) {
	m, err := NewMultisine(2, []int{2, 5, 13}, 3)
	require.NoError(t, err)
	m.Start = 0.5
	for _, rate := range []float64{50, 100, 83, 61.3} {
		var in, out measure.Series
		for i := range 500 * 9 {
			at := float64(i) / 500
			in.T, in.Y = append(in.T, at), append(in.Y, m.At(at)+2*at)
		}
		for at := 0.0003; at < 9; at += 1 / rate {
			out.T, out.Y = append(out.T, at), append(out.Y, -2*m.At(at)+0.5*at)
		}
		points, err := EstimateHeld(in, out, m, 0)
		require.NoError(t, err)
		for _, p := range points {
			want := -2 * loop.Hold(1/rate)(p.Omega())
			require.InDelta(t, 0, cmplx.Abs(p.H/want-1), 0.01, "%g steps a second, %g Hz", rate, p.Frequency)
			require.InDelta(t, 0, cmplx.Phase(p.H/want), 0.005, "%g steps a second, %g Hz", rate, p.Frequency)
		}
	}
	_, err = EstimateHeld(measure.Series{}, measure.Series{}, m, 0)
	require.ErrorIs(t, err, ErrInput)
}

// The lines are read while an offset drifts, with uneven times and with a
// record that begins and ends between periods.
func TestDriftAndUnevenTimes(t *testing.T) {
	m, _ := NewMultisine(1, []int{2, 5, 9}, 3)
	m.Start = 0.25
	rng := rand.New(rand.NewPCG(9, 9))
	var in, out measure.Series
	for at := 0.0; at < 6.7; at += 0.001 + 0.004*rng.Float64() {
		in.T, in.Y = append(in.T, at), append(in.Y, m.At(at)+5*at)
		out.T, out.Y = append(out.T, at), append(out.Y, -2*m.At(at-0.01)+3*at)
	}
	points, err := Estimate(in, out, m, 0)
	require.NoError(t, err)
	for _, p := range points {
		want := -2 * cmplx.Exp(complex(0, -p.Omega()*0.01))
		require.InDelta(t, 0, cmplx.Abs(p.H-want), 1e-6)
	}
}

func TestBadInput(t *testing.T) {
	m, err := NewMultisine(1, []int{2, 5}, 3)
	require.NoError(t, err)
	speed, throttle := recorded(m, loop.PI{Kp: 1, Ti: 1}.At, looptest.Lag(0.5, 1), 3, 0, 1)
	hole := measure.Series{T: append(append([]float64{}, speed.T[:600]...), speed.T[700:]...)}
	hole.Y = make([]float64, len(hole.T))
	for name, f := range map[string]func() error{
		"one period":  func() error { _, err := Estimate(speed.Between(0, 1), throttle, m, 0); return err },
		"all skipped": func() error { _, err := Estimate(speed, throttle, m, 2); return err },
		"hole":        func() error { _, err := Estimate(hole, throttle, m, 0); return err },
		"sparse": func() error {
			s := measure.Series{T: []float64{0, 1, 2, 3}, Y: []float64{1, 2, 3, 4}}
			_, err := Estimate(s, throttle, m, 0)
			return err
		},
		"no lines":     func() error { _, err := Estimate(speed, throttle, Multisine{Period: 1}, 0); return err },
		"double lines": func() error { _, err := NewMultisine(1, []int{2, 2}, 1); return err },
		"wrong sign": func() error {
			points, err := Estimate(speed, speed, m, 0)
			require.NoError(t, err)
			_, err = FitPI(points)
			return err
		},
	} {
		require.ErrorIs(t, f(), ErrInput, name)
	}
}

// Schroeder's phases keep the peak of many equal lines far below their sum.
func TestSchroederPhasesKeepThePeakLow(t *testing.T) {
	var all []int
	for h := 1; h <= 16; h++ {
		all = append(all, h)
	}
	m, err := NewMultisine(10, all, 1)
	require.NoError(t, err)
	crest := m.Peak() / math.Sqrt(16.0/2)
	require.Less(t, crest, 2.0)
	require.Equal(t, []int{1, 2, 4, 8, 16}, Harmonics(4, 0.25, 4, 5))
}

// The describing functions of backlash, quantiser, dead zone and saturation,
// read from a sine sampled at 500 Hz as if the part were a governor. Values of
// Gelb & Vander Velde, from memory, confirmed by Fourier integral.
func TestDescribingFunctionsFromSamples(t *testing.T) {
	clamp := func(x, d float64) float64 { return math.Max(-d, math.Min(d, x)) }
	play := 0.0
	backlash := func(x float64) float64 { play = math.Max(x-0.5, math.Min(x+0.5, play)); return play }
	tests := []struct {
		name string
		part func(float64) float64
		a    float64
		want complex128
	}{
		{"backlash", backlash, 0.6, 0.109551 - 0.176839i},
		{"backlash", backlash, 1, 0.5 - 0.318310i},
		{"backlash", backlash, 5, 0.947956 - 0.114592i},
		{"quantiser", math.RoundToEven, 0.6, 1.173016},
		{"quantiser", math.RoundToEven, 1, 1.102658},
		{"quantiser", math.RoundToEven, 2, 1.037489},
		{"quantiser", math.RoundToEven, 5, 1.009675},
		{"dead zone", func(x float64) float64 { return x - clamp(x, 1) }, 2, 0.391002},
		{"saturation", func(x float64) float64 { return clamp(x, 1) }, 2, 0.608998},
	}
	for _, tt := range tests {
		m := Multisine{Period: 4, Lines: []Line{{Harmonic: 1, Amplitude: tt.a}}}
		var in, out measure.Series
		for i := range 6000 {
			at := float64(i) / rate
			in.T, in.Y = append(in.T, at), append(in.Y, m.At(at))
			out.T, out.Y = append(out.T, at), append(out.Y, tt.part(m.At(at)))
		}
		points, err := Estimate(in, out, m, 1)
		require.NoError(t, err)
		require.Less(t, cmplx.Abs(points[0].H-tt.want), 0.002, "%s at %g: %v", tt.name, tt.a, points[0].H)
	}
}
