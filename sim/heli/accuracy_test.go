package heli_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/sim"
	"govrig/sim/drive"
	"govrig/sim/heli"
)

// dip is the greatest fall of the head speed, rad/s, after a step of
// collective, with a plain PI governor that sends a pulse every 14 ms.
func dip(t *testing.T, p heli.Params, step float64) float64 {
	const (
		frame, seconds = 14e-3, 3.0
		proportional   = 1.0e-6 // s per rad/s of engine speed
		integral       = 0.6e-6
	)
	head := 1660 * rpm
	pl, in := at(t, p, step, head, 4*degree)
	in.Collective = 9 * degree
	base, sum, lowest := in.ThrottlePulse, 0.0, head
	steps := int(math.Round(frame / step))
	for i := range int(seconds / step) {
		if i%steps == 0 {
			off := head*78/9 - pl.State().EngineSpeed
			sum += off * frame
			in.ThrottlePulse = base + proportional*off + integral*sum
		}
		pl.Step(in)
		lowest = min(lowest, pl.State().HeadSpeed)
	}
	return head - lowest
}

// Halving the step changes the dip of a load step by less than 0.1 % of it.
func TestHalvingTheStepHardlyChangesTheDip(t *testing.T) {
	smooth := heli.Medium()
	smooth.Servo.DeadBand, smooth.Servo.Resolution, smooth.Servo.Backlash = 0, 0, 0
	for name, p := range map[string]heli.Params{"as built": heli.Medium(), "smooth servo": smooth} {
		whole, half := dip(t, p, dt), dip(t, p, dt/2)
		t.Logf("%s: dip %.4f rpm, with half the step %+.4f %%", name, whole/rpm, 100*(half/whole-1))
		require.Greater(t, whole, 20*rpm)
		require.InEpsilon(t, whole, half, 1e-3, name)
	}
}

// account adds up where energy goes over a run, from what State shows and the
// inertias alone.
type account struct {
	engine, rotor, slip, gear float64 // J
}

func (a *account) step(d *drive.Drive, before, after sim.State, h float64) {
	n, eta := d.Train().Ratio, d.Train().Efficiency
	engine, head := (before.EngineSpeed+after.EngineSpeed)/2, (before.HeadSpeed+after.HeadSpeed)/2
	through := after.EngineTorque - d.EngineInertia()*(after.EngineSpeed-before.EngineSpeed)/h
	a.engine += after.EngineTorque * engine * h
	a.rotor += after.LoadTorque * head * h
	a.slip += through * (engine - n*head) * h
	a.gear += (1 - eta) * through * n * head * h
}

// Over a run from idle through slip and lock to a loaded hover and a throttle
// cut, what the engine gave is what the rotor took, what clutch and gears
// turned into heat, and what the shafts hold: to 1e-9 of it.
func TestEnergyIsConservedOverARun(t *testing.T) {
	p := heli.Medium()
	pl := heli.New(p, dt)
	d := drive.New(p.Drive, p.Engine.Inertia, p.Rotor.Inertia)
	kinetic := func(s sim.State) float64 {
		return d.EngineInertia()*s.EngineSpeed*s.EngineSpeed/2 + d.HeadInertia()*s.HeadSpeed*s.HeadSpeed/2
	}
	var a account
	begin := kinetic(pl.State())
	for i := range 80000 {
		time := float64(i) * dt
		in := sim.Input{ThrottlePulse: 1.5e-3, Collective: min(time, 8) * degree}
		if time > 15 {
			in = sim.Input{ThrottlePulse: 1.1e-3, Collective: 1 * degree}
		}
		before := pl.State()
		pl.Step(in)
		a.step(&d, before, pl.State(), dt)
	}
	t.Logf("%+v", a)
	require.Greater(t, a.slip, 100.0)
	left := a.engine - a.rotor - a.slip - a.gear - (kinetic(pl.State()) - begin)
	require.InDelta(t, 0, left, 1e-9*a.engine)
}

// The same run in half steps: work of the engine and of the rotor, slip and
// gear losses each change by less than 0.1 %, so that the balance does not
// hide an error of the torques.
func TestWorkDoesNotDependOnTheStep(t *testing.T) {
	work := func(h float64) account {
		p := heli.Medium()
		pl := heli.New(p, h)
		d := drive.New(p.Drive, p.Engine.Inertia, p.Rotor.Inertia)
		var a account
		for i := range int(math.Round(10 / h)) {
			before := pl.State()
			pl.Step(sim.Input{ThrottlePulse: 1.5e-3, Collective: min(float64(i)*h, 8) * degree})
			a.step(&d, before, pl.State(), h)
		}
		return a
	}
	whole, half := work(dt), work(dt/2)
	require.InEpsilon(t, whole.engine, half.engine, 1e-3)
	require.InEpsilon(t, whole.rotor, half.rotor, 1e-3)
	require.InEpsilon(t, whole.slip, half.slip, 1e-3)
	require.InEpsilon(t, whole.gear, half.gear, 1e-3)
}
