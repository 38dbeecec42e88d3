package gallery

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// Each law's answer to a step of error e in closed form, as any text-book has it
// (Åström and Hägglund, PID Controllers, from memory): K·e for the proportional
// part, K·e·t/Ti for the integral, and K·Td·e/Tf·e^{−t/Tf} for a filtered
// derivative, here by backward differences, which is Tf/(Tf + h) a step.
func TestStepAnswers(t *testing.T) {
	const k, ti, td, tf, h, e, rest = 2e-3, 0.8, 0.05, 0.02, 0.005, 10.0, 0.4
	integral := func(n int) float64 { return k * e * float64(n) * h / ti }
	for name, c := range map[string]struct {
		law  law
		want func(n int) float64
	}{
		"pi":           {&pi{k: k, ti: ti, h: h}, func(n int) float64 { return rest + k*e + integral(n) }},
		"feed-forward": {&feedForward{k: k, ti: ti, h: h, c: 0.5, bound: 1}, func(n int) float64 { return rest + k*e + integral(n) }},
		"droop":        {&droop{k: k, rest: rest}, func(int) float64 { return rest + k*e }},
		"incremental":  {&incremental{k: k, ti: ti, h: h}, func(n int) float64 { return rest + integral(n+1) }},
		"pid": {&pid{k: k, ti: ti, td: td, tf: tf, h: h}, func(n int) float64 {
			return rest + k*e + integral(n) + k*td*e/(tf+h)*math.Pow(tf/(tf+h), float64(n))
		}},
		"rate-limited": {&conditional{pi: pi{k: k, ti: ti, h: h}, rate: 10}, func(n int) float64 { return rest + k*e + integral(n) }},
		"dead band":    {&deadBand{pi: pi{k: k, ti: ti, h: h}, half: 4}, func(n int) float64 { return rest + 0.6*(k*e+integral(n)) }},
	} {
		c.law.start(rest, 1000)
		for n := range 40 {
			require.InDelta(t, c.want(n), c.law.run(1000, 1000-e, 0.7), 1e-12, "%s, step %d", name, n)
		}
	}
}

// A notch lets nothing of its own frequency through, here with r = 1, and a steady error
// as it is (any text-book of digital filters).
func TestNotch(t *testing.T) {
	const h, hertz = 0.005, 5.0
	l := &notch{pi: pi{k: 2e-3, ti: math.Inf(1), h: h}, r: 1, p: 0.9, c: math.Cos(2 * math.Pi * hertz * h)}
	l.start(0.4, 1000)
	require.InDelta(t, 0.4+2e-3*10, l.run(1000, 990, 0), 1e-12)
	for n := range 400 {
		u := l.run(1000, 990+3*math.Sin(2*math.Pi*hertz*h*float64(n)), 0)
		if n > 200 {
			require.InDelta(t, 0.4+2e-3*10, u, 1e-9)
		}
	}
}

// The scheduled law is the incremental one at the gain of the moment.
func TestScheduledGain(t *testing.T) {
	l := &scheduled{k: 1e-3, ti: 1, h: 0.01, a: 0.6}
	l.start(0.5, 0)
	l.run(100, 100, 0)
	require.InDelta(t, 0.5+1e-3*0.8*(10+0.01*10), l.run(110, 100, 0), 1e-12)
}

// A law of rules has half as much gain again for an error half-way to a large one,
// and twice for any beyond it; one with a limited rate moves by that in a step.
func TestLawsThatAreNotLinear(t *testing.T) {
	for e, want := range map[float64]float64{5: 1.5 * 5, 10: 2 * 10, 20: 2 * 20} {
		l := &graded{k: 1e-3, ti: math.Inf(1), h: 0.01, wide: 10}
		l.start(0.4, 0)
		l.run(100, 100, 0)
		require.InDelta(t, 0.4+1e-3*want, l.run(100+e, 100, 0), 1e-12)
	}
	l := &conditional{pi: pi{k: 1, ti: 1, h: 0.01}, rate: 4}
	l.start(0.4, 0)
	require.InDelta(t, 0.44, l.run(100, 99, 0), 1e-12)
	require.InDelta(t, 0.48, l.run(100, 99, 0), 1e-12)
	require.InDelta(t, 0.44, l.run(100, 102, 0), 1e-12)
}

// At an end the bounded laws stop adding within an integral time; the unbounded
// one does not.
func TestAtTheEnd(t *testing.T) {
	const k, ti, h, e = 2e-3, 0.8, 0.01, 100.0
	back := func(l law) (steps int) {
		l.start(0.5, 0)
		for range 2000 {
			l.run(1000, 1000-e, 0.5)
		}
		for l.run(1000, 1000+e, 0.5) >= 1 {
			steps++
		}
		return steps
	}
	for name, l := range map[string]law{
		"pi": &pi{k: k, ti: ti, h: h}, "incremental": &incremental{k: k, ti: ti, h: h}, "pid": &pid{k: k, ti: ti, tf: 0.01, h: h},
		"feed-forward": &feedForward{k: k, ti: ti, h: h, bound: 1}, "scheduled": &scheduled{k: k, ti: ti, h: h, a: 0.6},
		"rate-limited": &conditional{pi: pi{k: k, ti: ti, h: h}, rate: 10}, "graded": &graded{k: k, ti: ti, h: h, wide: 50},
	} {
		require.LessOrEqual(t, float64(back(l))*h, ti, name)
	}
	require.Greater(t, float64(back(&pi{k: k, ti: ti, h: h, unbounded: true}))*h, 10*ti)
}

// The margins of K·e^{−sT}/s are 90° − K·T and π/(2·K·T) (any text-book); of
// 1/(s+1)³ at a gain of 4, a gain margin of 2 (Routh).
func TestMarginsOfKnownLoops(t *testing.T) {
	loop := sample(func(w float64) complex128 { return 4 / complex(0, w) * late(w, 0.1) }, 0.01, 100)
	m := loop.margins(1)
	require.InDelta(t, 90-0.4*180/math.Pi, m.Phase, 0.1)
	require.InDelta(t, 20*math.Log10(math.Pi/0.8), m.Gain, 0.02)
	require.InDelta(t, 4, m.Crossover, 0.01)
	s := func(w float64) complex128 { return complex(1, w) }
	loop = sample(func(w float64) complex128 { return 4 / (s(w) * s(w) * s(w)) }, 0.01, 100)
	m = loop.margins(1)
	require.InDelta(t, 20*math.Log10(2), m.Gain, 0.02)
}
