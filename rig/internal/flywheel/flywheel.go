// Package flywheel is the simplest plant: one inertia with a drag that grows
// in proportion to speed. It has a closed-form answer,
//
//	J·dω/dt = T·u − L·θ − D·ω,
//	ω(t) = ω∞ + (ω0 − ω∞)·e^(−D·t/J),   ω∞ = (T·u − L·θ)/D,
//
// and exists to test what steps plants: each step is that answer, exactly.
package flywheel

import (
	"math"

	"govrig/sim"
)

// Params describes a flywheel, in SI units.
type Params struct {
	Inertia float64 // J, kg m²
	Torque  float64 // T, N m at full throttle
	Load    float64 // L, N m per rad of collective
	Drag    float64 // D, N m s
	Closed  float64 // throttle pulse of u = 0, s
	Open    float64 // throttle pulse of u = 1, s
	Ratio   float64 // engine turns for one of the head
	Speed   float64 // at the start, rad/s
}

// Plant is a flywheel. It implements sim.Plant.
type Plant struct {
	p          Params
	h          float64
	decay      float64 // e^(−D h/J)
	angle      float64
	speed      float64
	u          float64
	collective float64
}

// New gives a flywheel stepped by h seconds.
func New(p Params, h float64) *Plant {
	return &Plant{p: p, h: h, decay: math.Exp(-p.Drag * h / p.Inertia), speed: p.Speed}
}

// Step implements sim.Plant.
func (f *Plant) Step(in sim.Input) {
	if in.ThrottlePulse > 0 {
		f.u = math.Max(0, math.Min(1, (in.ThrottlePulse-f.p.Closed)/(f.p.Open-f.p.Closed)))
	}
	f.collective = in.Collective
	end := (f.p.Torque*f.u - f.p.Load*in.Collective) / f.p.Drag
	gap := f.speed - end
	f.angle += end*f.h + gap*(1-f.decay)*f.p.Inertia/f.p.Drag
	f.speed = end + gap*f.decay
}

// State implements sim.Plant.
func (f *Plant) State() sim.State {
	return sim.State{
		CrankAngle: f.angle, EngineSpeed: f.speed, HeadSpeed: f.speed / f.p.Ratio, Opening: f.u,
		EngineTorque: f.p.Torque * f.u, LoadTorque: f.p.Load * f.collective * f.p.Ratio,
	}
}

// Fork implements sim.Plant.
func (f *Plant) Fork() sim.Plant {
	c := *f
	return &c
}

// Set implements sim.Plant.
func (f *Plant) Set(from sim.Plant) { *f = *from.(*Plant) }
