package step

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
)

// sluggish is the deviation of an inertia under PI control after a unit load
// step, when the integral is slow: J·dω/dt = −Kp·ω − (Kp/Ti)∫ω − 1 has two real
// poles p < q and the answer −(e^{−pt} − e^{−qt})/(J(q − p)) (partial
// fractions, any control text-book). Times are s, J is 1.
func sluggish(kp, ti float64) func(t float64) float64 {
	root := math.Sqrt(kp*kp/4 - kp/ti)
	p, q := kp/2-root, kp/2+root
	return func(t float64) float64 {
		if t <= 0 {
			return 0
		}
		return -(math.Exp(-p*t) - math.Exp(-q*t)) / (q - p)
	}
}

// lastOutside is when a deviation is last beyond half, on a fine grid.
func lastOutside(f func(float64) float64, half, until float64) (last float64) {
	for t := 0.0; t < until; t += 1e-3 {
		if math.Abs(f(t)) > half {
			last = t
		}
	}
	return last
}

// A slow integral brings the speed back in seconds. Whatever the log's length,
// the recovery is the true one or none: never that into a band about a level
// which the speed only passes.
func TestSlowIntegralIsReadRightlyOrNotAtAll(t *testing.T) {
	const declared, half = 13_500.0, 135.0
	read := 0
	for seed := range uint64(300) {
		rng := rand.New(rand.NewPCG(seed, 31))
		kp, ti := 2+4*rng.Float64(), 3+7*rng.Float64()
		unit := sluggish(kp, ti)
		dip := declared * (0.02 + 0.04*rng.Float64()) * kp
		noise := 10 * rng.Float64()
		length := 3 + 60*rng.Float64()
		s := sampled(2, length, func(t float64) float64 { return declared + dip*unit(t) + noise*rng.NormFloat64() })
		got := AnalyseLoad(s, LoadConfig{Windows: Windows{Before: 2}, Declared: declared, Tolerance: 2})
		want := lastOutside(func(t float64) float64 { return dip * unit(t) }, half, 60)
		if r := got.RecoveryFromEvent; r.OK() {
			// Noise of 10 rpm on a tail that falls slowly shifts the last passing.
			slope := dip * (unit(want+0.05) - unit(want-0.05)) / 0.1
			require.InDelta(t, want, r.Value, 0.12*want+3*(noise+0.05*half)/math.Abs(slope)+0.1, "seed %d, Ti %.1f s, log %.1f s", seed, ti, length)
			read++
		} else if length > 8*ti {
			require.Contains(t, r.Why, "drift", "seed %d: a log of %.1f s with Ti %.1f s", seed, length, ti)
		}
	}
	require.Greater(t, read, 60)
}

// The load goes on and, before the slow integral has brought the speed back,
// off again. The rise is then no answer to the second event alone: it is not
// run, with how fast the speed drifted. Once the first has died away it is
// right.
func TestDriftBeforeDoesNotExcuseDriftAfter(t *testing.T) {
	const declared = 13_500.0
	wrong := 0
	for _, ti := range []float64{3, 5, 8, 10} {
		for _, wait := range []float64{4, 6, 8, 15, 60} {
			unit := sluggish(3, ti)
			s := sampled(wait+2, 30, func(t float64) float64 {
				return declared + 1200*(unit(t+wait)-unit(t))
			})
			got := AnalyseLoad(s, LoadConfig{Windows: Windows{Before: 2}, Declared: declared, Tolerance: 2})
			left := 100 * 1200 * math.Abs(unit(wait)) / declared
			if got.FromDeclared.OK() {
				require.Less(t, left, 1.0, "Ti %g s, %g s after the first event", ti, wait)
				require.InDelta(t, got.FromInitial.Value, got.FromDeclared.Value, 1, "Ti %g s, %g s after; left %.2f %%; %+v", ti, wait, left, DriftOf(s.Between(-2, 0)))
				continue
			}
			wrong++
			require.Greater(t, left, 0.05, "Ti %g s, %g s after the first event", ti, wait)
			if why := got.FromDeclared.Why; !strings.Contains(why, "nothing stands out") {
				require.Contains(t, why, "%/s")
			}
			require.False(t, got.RecoveryFromExit.OK())
		}
	}
	require.Greater(t, wrong, 4)
}

// Straight drifts of known slope in noise: the slope within its error, seen
// when it is there and, at six standard errors, not seen once in hundreds
// when it is not; the scatter of an engine that wanders is no drift.
func TestDriftOfRandomSeries(t *testing.T) {
	none, there, inside := 0, 0, 0
	const runs = 500
	for seed := range uint64(runs) {
		rng := rand.New(rand.NewPCG(seed, 32))
		walk, sigma, tau := 0.0, 1+10*rng.Float64(), 0.02+0.2*rng.Float64()
		draw := func(slope float64) measure.Series {
			return sampled(0, 3, func(t float64) float64 {
				walk += -walk/(tau*rate) + sigma*math.Sqrt(2/(tau*rate))*rng.NormFloat64()
				return 16_000 + slope*t + walk
			})
		}
		calm, drifting := DriftOf(draw(0)), DriftOf(draw(40))
		if calm.Seen() {
			none++
		}
		if drifting.Seen() {
			there++
		}
		if math.Abs(drifting.Rate-40) < 2*drifting.RateError {
			inside++
		}
	}
	t.Logf("of %d: seen without drift %d, seen with %d, true slope within two standard errors %d", runs, none, there, inside)
	require.LessOrEqual(t, none, 1)
	require.Greater(t, there, runs*8/10)
	require.Greater(t, inside, runs*9/10)
}

// What is left of an exponential approach is what its formula says.
func TestDriftLeftOfAnExponential(t *testing.T) {
	for _, tau := range []float64{0.5, 1, 3, 7.9} {
		d := DriftOf(sampled(0, 2, func(t float64) float64 { return 16_000 - 500*math.Exp(-t/tau) }))
		require.True(t, d.Seen())
		require.InEpsilon(t, 500*math.Exp(-2/tau), d.Left, 0.01, "time constant %g s", tau)
		require.False(t, d.Settled(20))
	}
	require.True(t, DriftOf(sampled(0, 2, func(t float64) float64 { return 16_000 + t })).Settled(135))
}
