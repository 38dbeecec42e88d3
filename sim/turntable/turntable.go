// Package turntable is a plant without an engine: it turns at the speed it is
// told to. The procedures that play pulses without a loop (self-test, pickup,
// throttle ends) play them with it.
package turntable

import "govrig/sim"

// Plant is a turntable. It implements sim.Plant.
type Plant struct {
	h, angle, speed float64
}

// New gives a turntable that stands still, stepped by h seconds.
func New(h float64) *Plant { return &Plant{h: h} }

// Step implements sim.Plant. The speed moves to in.Turn in a straight line
// over the step.
func (p *Plant) Step(in sim.Input) {
	p.angle += (p.speed + in.Turn) / 2 * p.h
	p.speed = in.Turn
}

// State implements sim.Plant.
func (p *Plant) State() sim.State {
	return sim.State{CrankAngle: p.angle, EngineSpeed: p.speed}
}

// Fork implements sim.Plant.
func (p *Plant) Fork() sim.Plant {
	c := *p
	return &c
}

// Set implements sim.Plant.
func (p *Plant) Set(from sim.Plant) { *p = *from.(*Plant) }
