// Package dyno is a dynamometer that holds an engine's speed nearly by itself: the
// throttle moves it by little. A governor that hunts with its own machine is calm
// on it, so that its answer to small changes of speed can be measured.
package dyno

import (
	"math"

	"govrig/sim"
)

// Params describes a dynamometer. Speeds are rad/s of the engine.
type Params struct {
	// Idle is the speed until the throttle opens, Wanted where it goes then, at
	// Rate, rad/s², with the throttle half open, and at more or less of it as that
	// is: so a governor can bring it up by its own ramp.
	Idle, Wanted, Rate float64
	// Give is by how much a throttle from closed to open moves the speed. A loop
	// around it is stable at any delay as long as the governor's gain times Give
	// is below 1.
	Give float64
	// Closed and Open are the ends of the throttle pulse, s.
	Closed, Open float64
	// Ratio is the engine's speed over the head's.
	Ratio float64
}

const (
	lag = 0.5 // s, of the speed behind what the throttle makes of it
	// A throttle within atEnd of an end takes the held speed along with it, by
	// Give in a second: the governor may be set to another speed than Wanted.
	atEnd = 0.1
)

// Plant is a dynamometer at work.
type Plant struct {
	p     Params
	step  float64 // s
	base  float64 // held speed
	moves bool    // the throttle has opened
	state sim.State
}

// New makes one for steps of so many seconds.
func New(p Params, step float64) *Plant {
	d := &Plant{p: p, step: step, base: p.Idle}
	d.state.EngineSpeed, d.state.HeadSpeed = p.Idle, 0
	return d
}

// Step moves it by one step.
func (d *Plant) Step(in sim.Input) {
	u := 0.0
	if in.ThrottlePulse > 0 {
		u = math.Max(0, math.Min(1, (in.ThrottlePulse-d.p.Closed)/(d.p.Open-d.p.Closed)))
	}
	d.hold(u)
	goal := d.base
	if d.moves {
		goal += d.p.Give * (u - 0.5)
	}
	before := d.state.EngineSpeed
	d.state.EngineSpeed += (goal - before) * d.step / lag
	d.state.CrankAngle += (before + d.state.EngineSpeed) / 2 * d.step
	d.state.HeadSpeed, d.state.Opening = d.state.EngineSpeed/d.p.Ratio, u
}

// hold moves the held speed: up to the wanted one once the throttle opens, then
// along with a throttle at its end.
func (d *Plant) hold(u float64) {
	switch {
	case !d.moves:
		if u > atEnd {
			d.moves = true
		}
	case d.base < (1-near)*d.p.Wanted:
		d.base += 2 * u * d.p.Rate * d.step
	case u > 1-atEnd:
		d.base += d.p.Give * d.step
	case u < atEnd:
		d.base -= d.p.Give * d.step
	}
}

// near is how near the wanted speed the held one is brought by Rate, a share.
const near = 0.002

// State tells where it is.
func (d *Plant) State() sim.State { return d.state }

// Fork makes an independent copy.
func (d *Plant) Fork() sim.Plant {
	copied := *d
	return &copied
}

// Set makes it equal to another.
func (d *Plant) Set(from sim.Plant) { *d = *from.(*Plant) }
