package heli_test

import (
	"math"
	"testing"

	"govrig/sim"
	"govrig/sim/heli"
)

const (
	dt  = 250e-6
	rpm = math.Pi / 30
)

func BenchmarkStep(b *testing.B) {
	pl := heli.New(heli.Trainer(), dt)
	if err := pl.Start(1660*rpm, 0.08); err != nil {
		b.Fatal(err)
	}
	pulse, _, _ := pl.Trim(1660*rpm, 0.08)
	in := sim.Input{ThrottlePulse: pulse, Collective: 0.08}
	b.ReportAllocs()
	for b.Loop() {
		pl.Step(in)
	}
}

func BenchmarkSet(b *testing.B) {
	pl := heli.New(heli.Trainer(), dt)
	ahead := pl.Fork()
	b.ReportAllocs()
	for b.Loop() {
		ahead.Set(pl)
	}
}
