package tick

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// jitters are kinds of wire: what a frame made at true time t takes, s.
var jitters = map[string]func(r *rand.Rand) func(t float64) float64{
	"even": func(r *rand.Rand) func(float64) float64 {
		size := 0.003 * r.Float64()
		return func(float64) float64 { return size * r.Float64() }
	},
	"exponential": func(r *rand.Rand) func(float64) float64 {
		mean := 0.002 * r.Float64()
		return func(float64) float64 { return mean * r.ExpFloat64() }
	},
	"frames of 1 ms": func(*rand.Rand) func(float64) float64 {
		return func(t float64) float64 { return math.Ceil(t*1e3)/1e3 - t }
	},
	"timer of 16 ms": func(*rand.Rand) func(float64) float64 {
		return func(t float64) float64 { return math.Ceil(t/0.016)*0.016 - t }
	},
}

// upset gives stalls and steps at random moments.
func upset(r *rand.Rand, seconds float64) (stall, jump func(t float64) float64) {
	type event struct{ at, size float64 }
	draw := func(most int) (all []event) {
		for range r.IntN(most + 1) {
			all = append(all, event{seconds * r.Float64(), 0.0001 * math.Pow(5000, r.Float64())}) // up to half a second
		}
		return all
	}
	stalls, steps := draw(6), draw(4)
	for i := range steps {
		steps[i].size *= float64(1 - 2*r.IntN(2))
	}
	stall = func(t float64) (longest float64) {
		for _, s := range stalls {
			if t > s.at && t < s.at+s.size {
				longest = math.Max(longest, s.at+s.size-t)
			}
		}
		return longest
	}
	return stall, func(t float64) (sum float64) {
		for _, s := range steps {
			if t > s.at {
				sum += s.size
			}
		}
		return sum
	}
}

// Whatever wires and computers do, the estimate is never wrong by more than it
// says; and mostly it is known.
func TestClockErrorIsNeverSurerThanItMayBe(t *testing.T) {
	for name, jitter := range jitters {
		known, tried := 0, 200
		for seed := range uint64(tried) {
			r := rand.New(rand.NewPCG(seed, 13))
			seconds, fast := 4+60*r.Float64(), 0.012*(2*r.Float64()-1)
			delay := jitter(r)
			stall, jump := upset(r, seconds)
			c := seen(seconds, fast, func(t float64) float64 { return math.Max(delay(t), stall(t)) }, jump)
			got, uncertainty, ok := c.Estimate()
			if ok {
				known++
				require.InDelta(t, fast, got, uncertainty, "%s, seed %d, %.1f s", name, seed, seconds)
			}
			low, high, _ := c.Bounds()
			require.False(t, Wrong(low, high), "%s, seed %d: refused", name, seed)
		}
		t.Logf("%s: known in %d of %d", name, known, tried)
		require.Greater(t, known, tried/2, name)
	}
}

// A usual computer stalls now and then; that is no reason for doubt.
func TestUsualStallsAreNoReasonForDoubt(t *testing.T) {
	for name, jitter := range jitters {
		for seed := range uint64(200) {
			r := rand.New(rand.NewPCG(seed, 17))
			seconds, delay := 4+60*r.Float64(), jitter(r)
			at, size := seconds*r.Float64(), 0.06*r.Float64()
			c := seen(seconds, 0.012*(2*r.Float64()-1), func(t float64) float64 {
				if t > at && t < at+size {
					return math.Max(delay(t), at+size-t)
				}
				return delay(t)
			}, none)
			require.NoError(t, c.Doubt(), "%s, seed %d, %.1f s", name, seed, seconds)
		}
	}
}
