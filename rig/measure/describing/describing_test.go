package describing

import (
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/require"
)

// saturation has slope 1 within ±d and is constant beyond.
func saturation(d float64) Function {
	return func(a float64) complex128 {
		if a <= d {
			return 1
		}
		r := d / a
		return complex(2/math.Pi*(math.Asin(r)+r*math.Sqrt(1-r*r)), 0)
	}
}

// relay switches between ±m with a dead zone of ±d.
func relay(m, d float64) Function {
	return func(a float64) complex128 {
		if a <= d || a <= 0 {
			return 0
		}
		return complex(4*m/(math.Pi*a)*math.Sqrt(1-d*d/(a*a)), 0)
	}
}

// Values of the formulas in Gelb & Vander Velde, from memory; computed and
// confirmed by numerical Fourier integral.
func TestTabulatedValues(t *testing.T) {
	tests := []struct {
		name string
		n    Function
		a    float64
		want complex128
	}{
		{"backlash", Backlash(1), 0.6, 0.109551 - 0.176839i},
		{"backlash", Backlash(1), 1, 0.5 - 0.318310i},
		{"backlash", Backlash(1), 5, 0.947956 - 0.114592i},
		{"backlash", Backlash(1), 0.5, 0},
		{"relay with dead zone", relay(1, 1), 2, 0.551329},
		{"saturation", saturation(1), 2, 0.608998},
		{"saturation", saturation(1), 0.5, 1},
	}
	for _, tt := range tests {
		require.InDelta(t, 0, cmplx.Abs(tt.n(tt.a)-tt.want), 1e-6, "%s at %g", tt.name, tt.a)
	}
}

// Each function is what it says: the fundamental of the output, taken by
// numerical integration over one period once any transient is past.
func TestAgainstTheFourierIntegral(t *testing.T) {
	clamp := func(x, d float64) float64 { return math.Max(-d, math.Min(d, x)) }
	play := 0.0
	parts := []struct {
		name string
		n    Function
		out  func(x float64) float64
	}{
		{"saturation", saturation(0.3), func(x float64) float64 { return clamp(x, 0.3) }},
		{"backlash", Backlash(0.6), func(x float64) float64 {
			play = math.Max(x-0.3, math.Min(x+0.3, play))
			return play
		}},
		{"relay with dead zone", relay(2, 0.3), func(x float64) float64 {
			if math.Abs(x) < 0.3 {
				return 0
			}
			return math.Copysign(2, x)
		}},
	}
	for _, p := range parts {
		for _, a := range []float64{0.35, 0.5, 1, 4} {
			const n = 200000
			var sum complex128
			for i := range 2 * n {
				theta := 2 * math.Pi * float64(i) / n
				y := p.out(a * math.Sin(theta))
				if i >= n {
					sum += complex(y, 0) * cmplx.Exp(complex(0, -theta))
				}
			}
			got := sum * complex(0, 2/(a*n)) // sine is −j on the unit circle
			require.InDelta(t, 0, cmplx.Abs(p.n(a)-got), 2e-4, "%s at %g: %v, integral %v", p.name, a, p.n(a), got)
		}
	}
}

var looked = Range{OmegaMin: 0.05, OmegaMax: 50, AmplitudeMin: 1e-3, AmplitudeMax: 100}

// An ideal relay with 1/(s+1)³ cycles where the phase is −180°: ω = √3, and
// there the gain is 1/8, so A = 4/(8π).
func TestRelayCycleOfThreeLags(t *testing.T) {
	lag3 := func(w float64) complex128 { return cmplx.Pow(1/complex(1, w), 3) }
	c := Cycles(lag3, relay(1, 0), looked)
	require.Len(t, c, 1)
	require.InDelta(t, math.Sqrt(3), c[0].Omega, 1e-8)
	require.InDelta(t, 4/(8*math.Pi), c[0].Amplitude, 1e-8)
	require.True(t, c[0].Stable)
}

func TestSaturationCyclesOnlyWhenTheLinearLoopIsUnstable(t *testing.T) {
	loop := func(k float64) Loop {
		return func(w float64) complex128 { return complex(k, 0) * cmplx.Pow(1/complex(1, w), 3) }
	}
	require.Empty(t, Cycles(loop(7), saturation(1), looked))
	c := Cycles(loop(16), saturation(1), looked)
	require.Len(t, c, 1)
	require.True(t, c[0].Stable)
	require.InDelta(t, 0.5, real(saturation(1)(c[0].Amplitude)), 1e-8, "the gain falls to the margin")
}

// Backlash on a well-damped double integrator: margins are good, and yet it
// cycles. Simulated in the time domain, the cycle agrees with the prediction as
// far as a neglect of harmonics allows.
func TestBacklashHuntsInspiteOfGoodMargins(t *testing.T) {
	// PI 1.2(1 + 1/(2s)) and rotor 1/s: phase margin 71°, infinite gain margin.
	const kp, ti, gap = 1.2, 2.0, 0.5
	loop := func(w float64) complex128 {
		return kp * (1 + 1/complex(0, w*ti)) / complex(0, w)
	}
	c := stableOnly(Cycles(loop, Backlash(gap), Range{OmegaMin: 0.01, OmegaMax: 20, AmplitudeMin: 0.26, AmplitudeMax: 20}))
	require.Len(t, c, 1)

	// The backlash sits between the governor's output and the plant.
	const dt = 1e-3
	speed, integral, driven := 0.3, 0.0, 0.0
	var crossings []float64
	peak := 0.0
	for i := range 400000 {
		e := -speed
		integral += e * dt / ti
		u := kp * (e + integral)
		driven = math.Max(u-gap/2, math.Min(u+gap/2, driven))
		before := speed
		speed += driven * dt
		if i < 200000 {
			continue
		}
		peak = math.Max(peak, math.Abs(u))
		if before < 0 && speed >= 0 {
			crossings = append(crossings, float64(i)*dt)
		}
	}
	require.Greater(t, len(crossings), 3, "it cycles")
	period := (crossings[len(crossings)-1] - crossings[0]) / float64(len(crossings)-1)
	require.InEpsilon(t, 2*math.Pi/c[0].Omega, period, 0.20)
	require.InEpsilon(t, c[0].Amplitude, peak, 0.20)
}

func stableOnly(cycles []Cycle) []Cycle {
	var s []Cycle
	for _, c := range cycles {
		if c.Stable {
			s = append(s, c)
		}
	}
	return s
}
