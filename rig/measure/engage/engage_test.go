package engage

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
)

const rate = 100.0

func sampled(length float64, f func(t float64) float64) (s measure.Series) {
	for i := range int(length * rate) {
		t := float64(i) / rate
		s.T, s.Y = append(s.T, t), append(s.Y, f(t))
	}
	return s
}

// scatters are throttles that do not answer, µs.
func scatters(rng *rand.Rand, length float64) map[string]func(t float64) float64 {
	size, walk, slow := 1+10*rng.Float64(), 0.0, 0.0
	tau, drift := 0.05+0.5*rng.Float64(), 10*(rng.Float64()-0.5)
	ring, phase := 0.3+4*rng.Float64(), rng.Float64()
	if math.Abs(ring-1) < 1.5/length {
		ring += 3 / length
	}
	return map[string]func(t float64) float64{
		"white": func(float64) float64 { return 1500 + size*rng.NormFloat64() },
		"slow": func(float64) float64 {
			slow += -slow/(tau*rate) + size*math.Sqrt(2/(tau*rate))*rng.NormFloat64()
			return 1500 + slow
		},
		"random walk": func(float64) float64 { walk += size / 10 * rng.NormFloat64(); return 1500 + walk },
		"drift and steps": func(t float64) float64 {
			return 8 * math.Round((1500+drift*t+0.3*size*rng.NormFloat64())/8)
		},
		"another swing": func(t float64) float64 {
			return 1500 + 5*size*math.Sin(2*math.Pi*(ring*t+phase)) + size*rng.NormFloat64()
		},
	}
}

// A throttle that only scatters, drifts or swings by itself is said to answer a
// sine once in a thousand at most.
func TestScatterIsNoAnswerToASine(t *testing.T) {
	const runs = 1200
	seen, all := map[string]int{}, 0
	for seed := range uint64(runs) {
		rng := rand.New(rand.NewPCG(seed, 51))
		length := 5 + 10*rng.Float64()
		played := sampled(length, func(t float64) float64 { return 13_500 + 30*math.Cos(2*math.Pi*t) })
		for kind, throttle := range scatters(rng, length) {
			if a := ToSine(played, sampled(length, throttle), 1); a.Kind == Opposes || a.Kind == Follows {
				seen[kind]++
				all++
			}
		}
	}
	t.Logf("of %d each: %v", runs, seen)
	require.LessOrEqual(t, all, 12, "of %d, of which 6 are to be expected", 5*runs)
}

// governor is a PI law on the played speed, µs over rpm, with dead time.
func governor(kp, ti, delay float64, played func(float64) float64) func(t float64) float64 {
	integral := 0.0
	return func(t float64) float64 {
		e := 13_500 - played(t-delay)
		integral += e / ti / rate
		return 1500 + kp*(e+integral)
	}
}

// A governor of any gain that stands out answers against the speed; the same
// law with its sign turned the other way; and both are told within the noise.
func TestGovernorsAnswer(t *testing.T) {
	for seed := range uint64(200) {
		rng := rand.New(rand.NewPCG(seed, 53))
		kp, ti, delay := 0.05+0.3*rng.Float64(), 0.2+5*rng.Float64(), 0.05*rng.Float64()
		if seed%10 == 0 {
			ti = math.Inf(1)
		}
		sine := func(t float64) float64 { return 13_500 + 40*math.Sin(2*math.Pi*t) }
		u := governor(kp, ti, delay, sine)
		noisy := func(sign float64) measure.Series {
			return sampled(8, func(t float64) float64 { return 1500 + sign*(u(t)-1500) + 0.5*rng.NormFloat64() })
		}
		played := sampled(8, sine)
		a := ToSine(played, noisy(1), 1)
		require.Equal(t, Opposes, a.Kind, "seed %d: %+v", seed, a)
		h := kp * math.Hypot(1, 1/(2*math.Pi*ti))
		require.InEpsilon(t, h, a.Gain, 0.06)
		require.InDelta(t, -180/math.Pi*math.Atan(1/(2*math.Pi*ti))-360*delay, a.Phase, 6)
		require.Equal(t, Follows, ToSine(played, noisy(-1), 1).Kind, "seed %d", seed)
	}
}

// What is silent says how small an answer it would have heard.
func TestSilentSaysWhatItWouldHaveHeard(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 54))
	sine := func(t float64) float64 { return 13_500 + 40*math.Sin(2*math.Pi*t) }
	a := ToSine(sampled(8, sine), sampled(8, func(float64) float64 { return 1500 + 4*rng.NormFloat64() }), 1)
	require.Equal(t, Silent, a.Kind)
	loud := governor(3*a.Least, math.Inf(1), 0, sine)
	b := ToSine(sampled(8, sine), sampled(8, func(t float64) float64 { return loud(t) + 4*rng.NormFloat64() }), 1)
	require.Equal(t, Opposes, b.Kind)
}

func TestWhatCannotBeTold(t *testing.T) {
	sine := sampled(8, func(t float64) float64 { return math.Sin(2 * math.Pi * t) })
	flat := sampled(8, func(float64) float64 { return 3 })
	for name, a := range map[string]Answer{
		"too short":    ToSine(sine.Between(0, 3), sine.Between(0, 3), 1),
		"nothing":      ToSine(measure.Series{}, sine, 1),
		"not swaying":  ToSine(flat, sine, 1),
		"no frequency": ToSine(sine, sine, 0),
	} {
		require.Equal(t, Untold, a.Kind, name)
		require.NotEmpty(t, a.Why, name)
	}
	require.Equal(t, Silent, ToSine(sine, flat, 1).Kind)
}

func TestEnds(t *testing.T) {
	e := EndsOf([]float64{1100, 1105, 1500, 1899, 1900}, 1900, 1100, 8)
	require.InDelta(t, 0.4, e.Low, 1e-9)
	require.InDelta(t, 0.4, e.High, 1e-9)
	require.True(t, e.Saturated())
	require.False(t, EndsOf([]float64{1100, 1500, 1500, 1500, 1900}, 1100, 1900, 8).Saturated())
	require.Zero(t, EndsOf(nil, 1100, 1900, 8))
}

func TestRatio(t *testing.T) {
	for _, c := range []struct {
		speed       float64
		over, under int
		ok          bool
	}{
		{13_500, 0, 0, false}, {6_750, 1, 2, true}, {27_100, 2, 1, true}, {4_550, 1, 3, true}, {40_000, 3, 1, true},
		{3_375, 1, 4, true}, {9_000, 0, 0, false}, {7_500, 0, 0, false}, {0, 0, 0, false},
	} {
		over, under, ok := Ratio(c.speed, 13_500, 0.03)
		require.Equal(t, [3]any{c.over, c.under, c.ok}, [3]any{over, under, ok}, "%g", c.speed)
	}
}
