package heli_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/sim"
	"govrig/sim/heli"
)

func BenchmarkStep(b *testing.B) {
	pl := heli.New(heli.Medium(), dt)
	require.NoError(b, pl.Start(1660*rpm, 8*degree))
	pulse, _, err := pl.Trim(1660*rpm, 8*degree)
	require.NoError(b, err)
	in := sim.Input{ThrottlePulse: pulse, Collective: 8 * degree}
	b.ReportAllocs()
	for b.Loop() {
		pl.Step(in)
	}
}

// A step with all of it: a collective and a pulse that move, a slipping
// servo, and cycles that vary.
func BenchmarkBusyStep(b *testing.B) {
	p := heli.Medium()
	p.Engine.Variation, p.Engine.Misfire = 0.05, 0.01
	pl := heli.New(p, dt)
	require.NoError(b, pl.Start(1660*rpm, 8*degree))
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		wave := float64(i/56%20) / 20
		pl.Step(sim.Input{ThrottlePulse: 1.4e-3 + 0.2e-3*wave, Collective: (4 + 4*wave) * degree})
	}
}

func BenchmarkSetAndStep(b *testing.B) {
	pl := heli.New(heli.Medium(), dt)
	ahead := pl.Fork()
	b.ReportAllocs()
	for b.Loop() {
		ahead.Set(pl)
		ahead.Step(sim.Input{})
	}
}
