package hunting

import (
	"flag"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"govrig/rig/measure"
)

// series is how many series of each kind the test of the operating
// characteristic draws. With 2000, 2 of the 10000 that do not hunt were said to.
var series = flag.Int("series", 100, "random series of each kind")

// slowly samples at 100 Hz, so that many series cost little.
func slowly(length float64, f func(t float64) float64) (s measure.Series) {
	for i := range int(length * 100) {
		t := float64(i) / 100
		s.T, s.Y = append(s.T, t), append(s.Y, f(t))
	}
	return s
}

// coloured is white noise through a loop of natural frequency f (Hz) and
// damping ζ, at 100 Hz, of standard deviation one.
func coloured(rng *rand.Rand, f, zeta float64) func() float64 {
	next := resonance(rng, f*rate/100, zeta)
	for range int(100 * 3 / (2 * math.Pi * f * zeta)) {
		next()
	}
	return next
}

// steadies are kinds of series that do not hunt; each makes one of any length
// and frequency from a source of chance. Speeds are rpm about 16000.
var steadies = map[string]func(rng *rand.Rand) measure.Series{
	"loop with a damping of 0.1": func(rng *rand.Rand) measure.Series {
		f, size := 0.2+7*rng.Float64(), math.Pow(10, 0.5+1.7*rng.Float64())
		next := coloured(rng, f, 0.1)
		return slowly(5/f+40*rng.Float64(), func(float64) float64 { return 16000 + size*next() })
	},
	"loop with more damping": func(rng *rand.Rand) measure.Series {
		next := coloured(rng, 0.2+7*rng.Float64(), 0.1+0.5*rng.Float64())
		size, noise := math.Pow(10, 0.5+1.7*rng.Float64()), 30*rng.Float64()
		return slowly(8+40*rng.Float64(), func(float64) float64 { return 16000 + size*next() + noise*rng.NormFloat64() })
	},
	"rough engine": func(rng *rand.Rand) measure.Series {
		// Cycle to cycle variation is white; the rotor's inertia integrates it.
		y, tau, size := 0.0, 0.2+3*rng.Float64(), 2+20*rng.Float64()
		q := []float64{0, 1, 10}[rng.IntN(3)]
		return slowly(8+40*rng.Float64(), func(float64) float64 {
			y += -y/(100*tau) + size*rng.NormFloat64()
			return quantised(16000+y, q)
		})
	},
	"drift that settles": func(rng *rand.Rand) measure.Series {
		tau, size, noise := 0.5+10*rng.Float64(), 800*(rng.Float64()-0.5), 1+15*rng.Float64()
		return slowly(8+40*rng.Float64(), func(t float64) float64 {
			return 16000 + size*math.Exp(-t/tau) + noise*rng.NormFloat64()
		})
	},
	"ring that dies": func(rng *rand.Rand) measure.Series {
		f, zeta, size, noise := 0.3+5*rng.Float64(), 0.015+0.3*rng.Float64(), 30+500*rng.Float64(), 1+10*rng.Float64()
		w := 2 * math.Pi * f
		return slowly(5/f+20*rng.Float64(), func(t float64) float64 {
			return 16000 + size*math.Exp(-zeta*w*t)*math.Cos(w*t) + noise*rng.NormFloat64()
		})
	},
}

// swings are kinds of series that hunt.
var swings = map[string]func(rng *rand.Rand) measure.Series{
	"sine in a rough engine": func(rng *rand.Rand) measure.Series {
		f, size := 0.15+7*rng.Float64(), 30+500*rng.Float64()
		next := coloured(rng, 0.3+3*rng.Float64(), 0.4)
		return slowly((8+20*rng.Float64())/f, func(t float64) float64 {
			return 16000 + size*math.Sin(2*math.Pi*f*t) + 0.15*size*next()
		})
	},
	"triangle": func(rng *rand.Rand) measure.Series {
		f, size := 0.15+4*rng.Float64(), 30+500*rng.Float64()
		return slowly((6+20*rng.Float64())/f, func(t float64) float64 {
			_, part := math.Modf(t * f)
			return 16000 + size*(4*math.Abs(part-0.5)-1) + 0.05*size*rng.NormFloat64()
		})
	},
	"phase and strength that wander": func(rng *rand.Rand) measure.Series {
		f, size, phase := 0.3+5*rng.Float64(), 30+900*rng.Float64(), 0.0
		strength := coloured(rng, 0.3*f, 0.7)
		return slowly((14+20*rng.Float64())/f, func(float64) float64 {
			phase += 2*math.Pi*f/100 + 0.5*math.Sqrt(f/100)*rng.NormFloat64()
			return 16000 + size*(1+0.12*strength())*math.Sin(phase)
		})
	},
	"relay with dead time": func(rng *rand.Rand) measure.Series {
		// An integrator with dead time under a relay, the load rough.
		late := make([]float64, 5+rng.IntN(40))
		y, size, rough := 0.0, 2+20*rng.Float64(), 0.3*rng.Float64()
		i := 0
		step := func() float64 {
			seen := late[i%len(late)]
			late[i%len(late)] = y
			i++
			y += -math.Copysign(size, seen) + rough*size*rng.NormFloat64()
			return y
		}
		for range 40 * len(late) {
			step()
		}
		return slowly(4*float64(len(late))/100*(10+20*rng.Float64()), func(float64) float64 { return 16000 + step() })
	},
}

// The operating characteristic on random series: at most one healthy window in
// a thousand is said to hunt, and few are doubted; nearly all that hunt are
// found, and none of them called quiet.
func TestOperatingCharacteristic(t *testing.T) {
	count := func(kind string, draw func(*rand.Rand) measure.Series, stream uint64) map[Kind]int {
		seen := map[Kind]int{}
		for seed := range uint64(*series) {
			f := Detect(draw(rand.New(rand.NewPCG(seed, stream))), Config{})
			seen[f.Kind]++
		}
		t.Logf("%-32s of %d: hunts %d, cannot tell %d, does not hunt %d", kind, *series, seen[Sustained], seen[Unknown],
			*series-seen[Sustained]-seen[Unknown])
		return seen
	}
	healthy := 0
	for kind, draw := range steadies {
		seen := count(kind, draw, 21)
		healthy += seen[Sustained]
		assert.Less(t, seen[Unknown], *series/20, kind)
	}
	assert.LessOrEqual(t, healthy, max(2, *series*len(steadies)/1000))
	for kind, draw := range swings {
		seen := count(kind, draw, 22)
		assert.GreaterOrEqual(t, seen[Sustained], *series*95/100, kind)
		assert.LessOrEqual(t, *series-seen[Sustained]-seen[Unknown], *series/100, kind)
	}
}
