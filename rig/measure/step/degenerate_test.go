package step

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"govrig/rig/measure"
)

var config = LoadConfig{Declared: 16000, Tolerance: 2}

// dip is a load step of 4 % that recovers, ωn = 5 rad/s.
func dip(t float64) float64 { return 16000 - 640*loadDeviation(0.7)(5*t)/0.458568 }

func TestDegenerateLoadStepsGiveNoNumber(t *testing.T) {
	whole := sampled(1, 8, dip)
	tests := map[string]measure.Series{
		"no event":                 sampled(1, 8, func(float64) float64 { return 16000 }),
		"noise and no event":       noisy(sampled(1, 8, func(float64) float64 { return 16000 }), 10),
		"empty":                    {},
		"ends before the event":    whole.Between(-1, -0.1),
		"begins after the event":   whole.Between(0.1, 8),
		"nothing before the event": whole.Between(-0.002, 8),
		"ends at once":             whole.Between(-1, 0.01),
		"gap across the dip":       without(whole, 0.1, 0.6),
		"times run backwards":      {T: []float64{0, 1, 0.5}, Y: []float64{1, 2, 3}},
		"not a number":             {T: []float64{-1, 0, 1}, Y: []float64{1, math.NaN(), 3}},
	}
	for name, s := range tests {
		t.Run(name, func(t *testing.T) {
			l := AnalyseLoad(s, config)
			for _, r := range []measure.Reading{l.Initial, l.Final, l.Extreme, l.FromDeclared,
				l.FromInitial, l.FromFinal, l.Exit, l.RecoveryFromExit, l.RecoveryFromEvent, l.Settling2} {
				require.False(t, r.OK(), "a number from degenerate data: %v", r.Value)
				require.NotEmpty(t, r.Why)
			}
			require.False(t, AnalyseSetPoint(s, config.Windows).Settling2.OK())
		})
	}
}

func TestASecondEventIsNoticed(t *testing.T) {
	twice := sampled(1, 16, func(t float64) float64 { return dip(t) + 1.2*(16000-dip(t-8)) })
	l := AnalyseLoad(twice, config)
	require.True(t, l.RecoveryFromEvent.OK())
	require.Contains(t, l.RecoveryFromEvent.Warnings[0], "second event")
	once := AnalyseLoad(twice.Between(-1, 8), config)
	require.InDelta(t, recovery4, once.RecoveryFromEvent.Value, 0.002)
	require.Empty(t, once.RecoveryFromEvent.Warnings)
}

func TestNeverSettles(t *testing.T) {
	swinging := sampled(1, 8, func(t float64) float64 {
		if t <= 0 {
			return 16000
		}
		return 16000 - 400*math.Sin(6*t)
	})
	l := AnalyseLoad(swinging, config)
	require.InDelta(t, -2.5, l.FromDeclared.Value, 0.001, "the dip is there to be read")
	require.False(t, l.RecoveryFromExit.OK())
	require.False(t, l.RecoveryFromEvent.OK())
	require.Contains(t, l.RecoveryFromEvent.Why, "does not settle")
}

func TestLogEndsBeforeTheNewLevel(t *testing.T) {
	for length := 0.5; length <= 3.5; length += 0.25 {
		s := sampled(1, length, func(t float64) float64 { return 14000 - 1000*math.Expm1(-math.Max(0, t)) })
		p := AnalyseSetPoint(s, Windows{})
		require.False(t, p.Settling2.OK(), "%g time constants are no settled answer: %g", length, p.Settling2.Value)
		if length <= 2 {
			require.False(t, p.Rise.OK(), "rise read from %g time constants: %g", length, p.Rise.Value)
		}
	}
}

// A number read from a record that is too short must carry a warning unless it
// is right to 2 %.
func TestShortRecordsWarn(t *testing.T) {
	for length := 3.5; length < 12; length += 0.25 {
		s := sampled(1, length, func(t float64) float64 { return 14000 - 1000*math.Expm1(-math.Max(0, t)) })
		r := AnalyseSetPoint(s, Windows{}).Settling2
		if r.OK() && len(r.Warnings) == 0 {
			require.InEpsilon(t, math.Log(50), r.Value, 0.02, "record of %g time constants", length)
		}
	}
}

func TestNoLastingChangeOfLevelIsNoSetPointStep(t *testing.T) {
	p := AnalyseSetPoint(sampled(1, 8, dip), Windows{})
	require.True(t, p.Initial.OK())
	require.False(t, p.Overshoot.OK())
	require.False(t, p.Rise.OK())
	require.Contains(t, p.Rise.Why, "no lasting change")
}

func TestNoiseWiderThanTheBandIsSaid(t *testing.T) {
	l := AnalyseLoad(noisy(sampled(2, 8, dip), 120), config)
	require.True(t, l.FromDeclared.OK())
	require.False(t, l.RecoveryFromExit.OK())
}

func TestADipInsideTheBandNeedsNoRecovery(t *testing.T) {
	l := AnalyseLoad(sampled(1, 8, dip), LoadConfig{Declared: 16000, Tolerance: 20})
	require.InDelta(t, -4, l.FromInitial.Value, 0.01)
	require.False(t, l.Exit.OK())
	require.Zero(t, l.RecoveryFromExit.Value)
	require.NotEmpty(t, l.RecoveryFromExit.Warnings)
}

func TestLaterGapOnlyWarnsTheBand(t *testing.T) {
	s := without(sampled(0, 8, func(t float64) float64 { return 16000 + 10*math.Sin(t) }), 2, 3)
	r := SteadyBand(s, 16000)
	require.True(t, r.OK())
	require.Len(t, r.Warnings, 1)
}

func TestRefusesMissingReferences(t *testing.T) {
	s := sampled(1, 8, dip)
	require.False(t, AnalyseLoad(s, LoadConfig{Tolerance: 2}).FromDeclared.OK())
	require.False(t, AnalyseLoad(s, LoadConfig{Declared: 16000}).FromDeclared.OK())
	require.False(t, SteadyBand(s, 0).OK())
	require.False(t, SteadyBand(s.Between(0, 0.01), 16000).OK())
}

// Irregular sampling, noise and the log's resolution shift the numbers no
// further than they themselves are wide.
func TestIrregularNoisyQuantisedData(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		noise := rapid.Float64Range(0, 8).Draw(t, "noise")
		quantum := rapid.SampledFrom([]float64{0, 1, 4}).Draw(t, "quantum")
		var s measure.Series
		for at := -2.0; at < 8; at += 0.001 + 0.004*rng.Float64() {
			y := dip(at) + noise*rng.NormFloat64()
			if quantum > 0 {
				y = quantum * math.Round(y/quantum)
			}
			s.T, s.Y = append(s.T, at), append(s.Y, y)
		}
		l := AnalyseLoad(s, config)
		require.InDelta(t, -4, l.FromDeclared.Value, 100*(5*noise+quantum)/16000+0.01)
		require.InDelta(t, 16000, l.Final.Value, noise+quantum/2+0.01)
		if noise == 0 && quantum == 0 {
			require.InDelta(t, recovery4, l.RecoveryFromEvent.Value, 0.005)
		}
	})
}

// recovery4 is when the dip of 640 rpm, ζ = 0.7, ωn = 5 rad/s, stays within
// ±160 rpm: the root of the closed form.
var recovery4 = func() float64 {
	last := 0.0
	for t := 0.0; t < 8; t += 1e-5 {
		if math.Abs(dip(t)-16000) > 160 {
			last = t
		}
	}
	return last
}()

func noisy(s measure.Series, sigma float64) measure.Series {
	rng := rand.New(rand.NewPCG(7, 7))
	for i := range s.Y {
		s.Y[i] += sigma * rng.NormFloat64()
	}
	return s
}

func without(s measure.Series, from, to float64) measure.Series {
	var kept measure.Series
	for i, t := range s.T {
		if t < from || t > to {
			kept.T, kept.Y = append(kept.T, t), append(kept.Y, s.Y[i])
		}
	}
	return kept
}

func TestNoiseAloneIsNoEvent(t *testing.T) {
	seen := 0
	for seed := range uint64(300) {
		rng := rand.New(rand.NewPCG(seed, 3))
		s := sampled(1, 8, func(float64) float64 { return 16000 + 10*rng.NormFloat64() })
		if AnalyseLoad(s, config).FromDeclared.OK() {
			seen++
		}
	}
	require.LessOrEqual(t, seen, 3)
}
