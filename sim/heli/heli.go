// Package heli is the simulated helicopter: servo, throttle curve, engine,
// clutch, gear train and rotor in one plant. The equations are those of its
// parts, in the packages of those names.
//
// # Stepping
//
// A step first moves the servo. Then every torque is taken at the middle of
// the step: opening as the mean of before and after, speeds led there by the
// acceleration of the step before, the inflow by its own implicit midpoint.
// Then the shafts move under these torques, and the crank angle by the mean of
// the speeds. With 250 µs the nominal step, the method is of second order
// between events, needs one evaluation a step, and has no branch but those of
// clutch and stall.
//
// The step has no call of a transcendental function: the throttle curve is a
// table of cubics, lags have their exponential taken once, the charge is in
// closed form with divisions only, and the gravest operation is a division.
package heli

import (
	"govrig/sim"
	"govrig/sim/drive"
	"govrig/sim/engine"
	"govrig/sim/rotor"
	"govrig/sim/servo"
)

// Limits of what a plant can be asked; inputs beyond are cut back to them.
const (
	// MaxCollective in rad, either way.
	MaxCollective = 0.4
	// MaxClimb in m/s, either way.
	MaxClimb = 30.0
)

// Plant implements sim.Plant. It is a plain value: a copy goes on as the
// original would.
type Plant struct {
	params   *Params // read only, shared by copies
	dt       float64
	perStep  float64 // 1/dt
	servo    servo.Servo
	throttle curve
	engine   engine.Engine
	drive    drive.Drive
	rotor    rotor.Rotor

	angle      float64 // of the crank, rad
	opening    float64 // of the barrel from its idle stop, 0 to 1
	inflow     float64 // m/s
	engineRate float64 // rad/s² in the last step
	headRate   float64
	torque     float64 // of the engine, N·m
	load       float64 // of the rotor, N·m
}

// New makes a plant with a step of dt seconds, its throttle closed, its engine
// at idle speed and its rotor at rest. Without an idle stop the engine is
// stopped too, and only Start sets it going. New panics if p is not valid or
// dt is not within 10e-6 to 1e-3 s.
func New(p Params, dt float64) *Plant {
	if err := p.Validate(); err != nil {
		panic(err)
	}
	if !(dt >= 10e-6 && dt <= 1e-3) {
		panic("the step is outside 10e-6 to 1e-3 s")
	}
	air := p.Air.State()
	pl := &Plant{
		params:   &p,
		dt:       dt,
		perStep:  1 / dt,
		servo:    servo.New(p.Servo, dt),
		throttle: newCurve(p.Throttle),
		engine:   engine.New(p.Engine, air, dt),
		drive:    drive.New(p.Drive, p.Engine.Inertia, p.Rotor.Inertia),
		rotor:    rotor.New(p.Rotor, air.Density),
	}
	pl.place(pl.throttle.closed(), p.Engine.IdleSpeed, 0)
	pl.engine.Running = p.Engine.IdleSpeed > 0
	return pl
}

// place puts servo, engine and shafts at rest in themselves, at angle 0.
func (pl *Plant) place(share, engine, head float64) {
	pl.servo.Settle(share)
	pl.opening = pl.throttle.at(share)
	pl.engine.Settle(pl.opening, engine, 0)
	pl.drive.Engine, pl.drive.Head = engine, head
	pl.angle, pl.inflow, pl.engineRate, pl.headRate = 0, 0, 0, 0
	pl.torque, pl.load = 0, 0
}

// Step moves the plant by one step under in.
func (pl *Plant) Step(in sim.Input) {
	pitch := min(max(in.Collective, -MaxCollective), MaxCollective)
	climb := min(max(in.Climb, -MaxClimb), MaxClimb)
	half := pl.dt / 2
	engine, head := pl.drive.Engine, pl.drive.Head
	engineMid := max(0, engine+half*pl.engineRate)
	headMid := max(0, head+half*pl.headRate)

	opening := pl.opening
	pl.servo.Step(in.ThrottlePulse)
	pl.opening = pl.throttle.at(pl.servo.Share())
	angleMid := pl.angle + half*(engine+engineMid)/2
	pl.torque = pl.engine.Step((opening+pl.opening)/2, engineMid, angleMid)

	inflow := pl.inflow
	pl.inflow = pl.rotor.NextInflow(headMid, pitch, climb, inflow, pl.dt)
	pl.load = pl.rotor.Torque(headMid, pitch, climb, (inflow+pl.inflow)/2)

	pl.drive.Step(pl.torque, pl.load, pl.dt)
	if pl.drive.Engine == 0 {
		pl.torque = max(0, pl.torque) // friction does not turn a shaft that stands
	}
	pl.engineRate = (pl.drive.Engine - engine) * pl.perStep
	pl.headRate = (pl.drive.Head - head) * pl.perStep
	pl.angle += half * (engine + pl.drive.Engine)
}

// State tells where the plant is now. Speeds, angle and opening are those at
// the end of the last step, torques those at its middle. The opening counts
// the idle stop.
func (pl *Plant) State() sim.State {
	return sim.State{
		CrankAngle:   pl.angle,
		EngineSpeed:  pl.drive.Engine,
		HeadSpeed:    pl.drive.Head,
		Opening:      pl.engine.Area(pl.opening),
		EngineTorque: pl.torque,
		LoadTorque:   pl.load,
	}
}

// Running is false once the engine has stalled.
func (pl *Plant) Running() bool { return pl.engine.Running }

// Fork makes an independent copy.
func (pl *Plant) Fork() sim.Plant {
	c := *pl
	return &c
}

// Set makes this plant equal to from, which must be a *Plant from the same
// Params and step.
func (pl *Plant) Set(from sim.Plant) { *pl = *from.(*Plant) }

var _ sim.Plant = (*Plant)(nil)
