// Package heli is the simulated helicopter: servo, throttle table, engine,
// clutch, gear train and rotor in one plant.
package heli

import (
	"govrig/sim"
)

// Plant implements sim.Plant. It is a plain value: Fork and Set copy it.
type Plant struct {
	p  *Params
	dt float64
	s  sim.State
}

// New makes a plant with a step of dt seconds, its engine idling and its rotor
// at rest. It panics if p is not valid or dt is not in 10e-6 to 1e-3 s.
func New(p Params, dt float64) *Plant {
	if err := p.Validate(); err != nil {
		panic(err)
	}
	pl := &Plant{p: &p, dt: dt}
	pl.s.EngineSpeed = p.Engine.IdleSpeed
	pl.s.HeadSpeed = p.Engine.IdleSpeed / pl.ratio()
	return pl
}

func (pl *Plant) ratio() float64 {
	n := 1.0
	for _, s := range pl.p.Drive.Stages {
		n *= float64(s.Driven) / float64(s.Driver)
	}
	return n
}

// Step moves one shaft with a torque in proportion to the opening, against
// drag in proportion to the square of the speed.
func (pl *Plant) Step(in sim.Input) {
	p, s, n := pl.p, &pl.s, pl.ratio()
	if in.ThrottlePulse > 0 {
		at := (in.ThrottlePulse - p.Servo.PulseLow) / (p.Servo.PulseHigh - p.Servo.PulseLow)
		i := min(max(at, 0), 1) * float64(len(p.Throttle)-1)
		s.Opening = p.Throttle[int(i+0.5)]
	}
	s.EngineTorque = s.Opening * p.Engine.PeakPressure * p.Engine.Displacement / 6.283185307179586
	tip := s.HeadSpeed * p.Rotor.Radius
	area := float64(p.Rotor.Blades) * p.Rotor.Chord * p.Rotor.Radius
	pitch := in.Collective * p.Rotor.LiftSlope
	s.LoadTorque = 1.2 * area * p.Rotor.Radius * tip * tip / 8 * (p.Rotor.DragZero + 0.05*pitch*pitch)
	inertia := p.Engine.Inertia*n*n + p.Rotor.Inertia
	a := (n*s.EngineTorque - s.LoadTorque) / inertia
	s.CrankAngle += pl.dt * (s.EngineSpeed + pl.dt*a*n/2)
	s.HeadSpeed = max(0, s.HeadSpeed+pl.dt*a)
	s.EngineSpeed = n * s.HeadSpeed
}

// State tells where the plant is now.
func (pl *Plant) State() sim.State { return pl.s }

// Fork makes an independent copy.
func (pl *Plant) Fork() sim.Plant { c := *pl; return &c }

// Set makes this plant equal to from, a *Plant from the same Params.
func (pl *Plant) Set(from sim.Plant) { *pl = *from.(*Plant) }

var _ sim.Plant = (*Plant)(nil)
