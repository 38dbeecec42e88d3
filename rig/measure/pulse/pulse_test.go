package pulse

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

const tick = 62.5e-9 // s

// The moments of 71 Hz frames rounded to ticks, every ninth left out.
func TestRateOverFramesLeftOut(t *testing.T) {
	var starts []float64
	for i := range 150 {
		if i%9 != 4 {
			starts = append(starts, math.Round((0.3+float64(i)/71)/tick)*tick)
		}
	}
	f := FramesOf(starts)
	require.InEpsilon(t, 71, f.Rate.Value, 1e-7)
	require.InDelta(t, 17.0/150, f.Missing.Value, 1e-9)
	require.Less(t, f.Jitter.Value, tick)
}

func TestTooFewPulsesHaveNoRate(t *testing.T) {
	f := FramesOf([]float64{0, 0.02})
	require.False(t, f.Rate.OK())
	require.False(t, f.Jitter.OK())
	require.False(t, f.Missing.OK())
}

// Jitter and losses drawn at random come back: the difference of two
// independent moments has √2 of the scatter of one.
func TestJitterAndLossesComeBack(t *testing.T) {
	for seed := range uint64(50) {
		rng := rand.New(rand.NewPCG(seed, 41))
		rate, jitter, loss := 20+280*rng.Float64(), 1e-3*rng.Float64(), 0.3*rng.Float64()
		jitter *= 40 / rate
		var starts []float64
		first, last, sent := -1, 0, 0
		for i := range 2000 {
			if rng.Float64() > loss {
				if first < 0 {
					first = i
				}
				last = i
				sent++
				starts = append(starts, float64(i)/rate+jitter*rng.NormFloat64())
			}
		}
		f := FramesOf(starts)
		require.InEpsilon(t, rate, f.Rate.Value, 1e-3, "seed %d", seed)
		require.InDelta(t, 1-float64(sent-1)/float64(last-first), f.Missing.Value, 0.002, "seed %d", seed)
		require.InEpsilon(t, math.Sqrt2*jitter, f.Jitter.Value, 0.12, "seed %d", seed)
	}
}

// line plays a throttle to a governor's output stage: a step (0 is none), frames
// at a rate, noise of capture of one tick either way.
func line(rng *rand.Rand, step, rate, length float64, throttle func(t float64) float64) (widths []float64) {
	for at := 0.0; at < length; at += 1 / rate {
		w := throttle(at)
		if step > 0 {
			w = step * math.Round(w/step)
		}
		widths = append(widths, tick*(math.Round(w/tick)+float64(rng.IntN(3)-1)))
	}
	return widths
}

// roving is a throttle that a governor moves: slow and quick together.
func roving(rng *rand.Rand) func(t float64) float64 {
	a, b := 100e-6+200e-6*rng.Float64(), 10e-6+30e-6*rng.Float64()
	f, g := 0.1+0.3*rng.Float64(), 0.9+2*rng.Float64()
	return func(t float64) float64 {
		return 1.5e-3 + a*math.Sin(2*math.Pi*f*t) + b*math.Sin(2*math.Pi*g*t)
	}
}

// A staircase of any step from 0.6 to 40 µs, at any frame rate, is found with
// its step within a hundredth, and a line without one is never given one.
func TestStepOfRandomLines(t *testing.T) {
	found, untold, none, invented := 0, 0, 0, 0
	const runs = 80
	for seed := range uint64(runs) {
		rng := rand.New(rand.NewPCG(seed, 42))
		step := 0.6e-6 * math.Pow(40/0.6, rng.Float64())
		rate := 20 + 280*rng.Float64()
		switch got := StepsOf(line(rng, step, rate, 1500/rate, roving(rng)), tick); got.Kind {
		case Staircase:
			require.InEpsilon(t, step, got.Step, 0.01, "seed %d, %g Hz", seed, rate)
			found++
		case Untold:
			untold++
		case Finer:
			t.Errorf("seed %d: a step of %.3g µs is said to be finer than %.3g µs", seed, 1e6*step, 1e6*got.Step)
		}
		free := StepsOf(line(rng, 0, rate, 1500/rate, roving(rng)), tick)
		switch free.Kind {
		case Staircase:
			invented++
		case Finer:
			require.LessOrEqual(t, free.Step, 0.5e-6)
			none++
		}
	}
	t.Logf("of %d: staircase found %d, cannot tell %d; without one: none %d, one invented %d", runs, found, untold, none, invented)
	require.Greater(t, found, runs*95/100)
	require.Greater(t, none, runs*95/100)
	require.Zero(t, invented)
}

// A governor with droop only, shown a speed that rises and falls steadily,
// moves by the same stride each of its 20 frames a second: no staircase.
func TestEvenStridesAreNoStaircase(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 43))
	for _, stride := range []float64{30e-6, 12e-6, 5e-6} {
		up := func(t float64) float64 {
			_, part := math.Modf(t / 2)
			return 1.2e-3 + 20*stride*(1-math.Abs(2*part-1))
		}
		got := StepsOf(line(rng, 0, 20, 12, up), tick)
		require.NotEqual(t, Staircase, got.Kind, "%+v", got)
		require.LessOrEqual(t, got.Step, 1.1*stride)
		ramp := StepsOf(line(rng, 0, 20, 2, func(t float64) float64 { return 1.2e-3 + 20*stride*t }), tick)
		require.Equal(t, Untold, ramp.Kind, "%+v", ramp)
		require.InDelta(t, stride, ramp.Step, 3*tick)
	}
}

// Whatever widths were seen of an evenly stepped line, the step is found
// exactly, as long as their steps have no common factor.
func TestStepIsFoundExactly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ticks := rapid.IntRange(16, 500).Draw(t, "step, ticks")
		first := rapid.IntRange(16_000, 20_000).Draw(t, "first, ticks")
		at := 0
		widths := []float64{float64(first) * tick}
		for i, more := range rapid.SliceOfN(rapid.IntRange(1, 3), 30, 60).Draw(t, "steps") {
			at += []int{more, 1, 2, 3}[min(3, max(0, i-26))]
			widths = append(widths, float64(first+at*ticks)*tick)
		}
		got := StepsOf(widths, tick)
		require.Equal(t, Staircase, got.Kind)
		require.InEpsilon(t, float64(ticks)*tick, got.Step, 1e-9)
	})
}

// Seven widths of ten happened to stand on every third level.
func TestStepWhereMostWidthsStandOnEveryThird(t *testing.T) {
	more := []int{
		1, 1, 1, 1, 2, 2, 2, 2, 2, 2, 2, 3, 3, 3, 3, 3, 1, 1, 1, 3, 3, 3, 3, 3, 3, 3, 3,
		1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1,
	}
	at, widths := 0, []float64{16_000 * tick}
	for i, n := range more {
		at += []int{n, 1, 2, 3}[min(3, max(0, i-26))]
		widths = append(widths, float64(16_000+16*at)*tick)
	}
	got := StepsOf(widths, tick)
	require.Equal(t, Staircase, got.Kind)
	require.InEpsilon(t, 16*tick, got.Step, 1e-9)
}

func TestStillLineHasNoStep(t *testing.T) {
	got := StepsOf([]float64{1.1e-3, 1.1e-3, 1.2e-3}, tick)
	require.Equal(t, Untold, got.Kind)
	require.False(t, got.Reading().OK())
	require.Zero(t, StepsOf([]float64{1.1e-3, 1.1e-3}, tick).Step)
}

// Dead below 0.1, straight from there to 0.5, then let go.
func TestFollowFindsTheStraightStretch(t *testing.T) {
	var x, y []float64
	for i := range 41 {
		at := float64(i) / 40
		x = append(x, at)
		switch {
		case at > 0.5:
			y = append(y, 1)
		default:
			y = append(y, max(0, 1.25*(at-0.1)))
		}
	}
	line, ok := Follow(x, y, 0.005, 0.02)
	require.True(t, ok)
	require.InDelta(t, 1.25, line.Slope, 1e-9)
	require.InDelta(t, 0.1, line.X(0), 1e-9)
	require.InDelta(t, 0.1, line.From, 1e-9)
	require.InDelta(t, 0.5, line.To, 1e-9)
}

// Reversed servo, coarse steps: the direction and about the slope.
func TestFollowCoarseAndReversed(t *testing.T) {
	var x, y []float64
	for i := range 21 {
		x = append(x, float64(i)/20)
		y = append(y, -0.03*math.Round(float64(i)/20/0.03))
	}
	line, ok := Follow(x, y, 0.005, 0.01, 0.02, 0.04)
	require.True(t, ok)
	require.InDelta(t, -1, line.Slope, 0.03)
}

func TestNothingFollows(t *testing.T) {
	_, ok := Follow([]float64{0, 1, 2, 3, 4, 5}, []float64{7, 7, 7, 7, 7, 7}, 0.1)
	require.False(t, ok)
}
