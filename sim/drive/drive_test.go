package drive_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"govrig/sim/drive"
)

const (
	dt  = 250e-6
	rpm = math.Pi / 30
)

func model() drive.Params {
	return drive.Params{
		Clutch: drive.Clutch{EngagementSpeed: 5000 * rpm, Capacity: 2.5, CapacitySpeed: 14000 * rpm, BellInertia: 2e-6},
		Stages: []drive.Stage{{Driver: 9, Driven: 78, Efficiency: 0.95, Inertia: 1e-4}},
	}
}

func TestCapacityGrowsWithTheSquareOfSpeed(t *testing.T) {
	d := drive.New(model(), 1.5e-4, 0.06)
	require.Zero(t, d.Capacity(4999*rpm))
	require.InDelta(t, 2.5, d.Capacity(14000*rpm), 1e-12)
	require.InDelta(t, 2.5*(100-25)/(196-25), d.Capacity(10000*rpm), 1e-12)
}

// Locked, the two shafts are one: an engine torque T gives the main shaft
// (η·n·T − Q)/(J_r + η·n²·J_e), with all inertias about it.
func TestLockedShaftsAccelerateAsOne(t *testing.T) {
	d := drive.New(model(), 1.5e-4, 0.06)
	d.Engine, d.Head = 78*150/9.0, 150
	n, eta := d.Train().Ratio, d.Train().Efficiency
	for range 400 {
		d.Step(0.8, 5, dt)
		require.InDelta(t, 0, d.Slip(), 1e-12)
	}
	want := (eta*n*0.8 - 5) / (d.HeadInertia() + eta*n*n*1.5e-4)
	require.InEpsilon(t, want, (d.Head-150)/0.1, 1e-9)
}

// A clutch that brings an inertia up to a driver held at constant speed turns
// as much energy into heat as it stores: half of what it takes in (any text on
// clutches). The driver is held by an inertia 1e9 times the other.
func TestSlippingClutchLosesHalf(t *testing.T) {
	p := model()
	p.Stages[0].Efficiency = 1
	d := drive.New(p, 1e9, 0.06)
	d.Engine = 10000 * rpm
	heat, steps := 0.0, 0
	for ; d.Slip() > 0; steps++ {
		before := d.Slip()
		through := d.Step(0, 0, dt)
		heat += through * dt * (before + d.Slip()) / 2
	}
	stored := d.HeadInertia() * d.Head * d.Head / 2
	require.Greater(t, steps, 100)
	require.InEpsilon(t, stored, heat, 1e-6)
	// T = C constant, so the time is J_r·ω_r/(n·C).
	want := d.HeadInertia() * d.Head / (d.Train().Ratio * d.Capacity(10000*rpm))
	require.InDelta(t, want, float64(steps)*dt, dt)
}

// When the engine stops, the rotor runs on: nothing drives or brakes it but
// its load.
func TestRotorOverruns(t *testing.T) {
	d := drive.New(model(), 1.5e-4, 0.06)
	d.Engine, d.Head = 78*150/9.0, 150
	for range 400 {
		require.Zero(t, d.Step(-0.5, 1, dt))
	}
	require.Negative(t, d.Slip())
	require.InEpsilon(t, 150-0.1*1/d.HeadInertia(), d.Head, 1e-12)
	// The load now drives the rotor, as in autorotation.
	head := d.Head
	d.Step(-0.5, -1, dt)
	require.Greater(t, d.Head, head)
}

// Energy in and out balances in each step to rounding, whatever happens:
// slip, lock, overrun. Torque times the mean of the speeds before and after is
// the work of each.
func TestEnergyBalancesInEveryStep(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drive.New(model(), 1.5e-4, 0.06)
		d.Engine = rapid.Float64Range(200, 2000).Draw(t, "engine")
		d.Head = rapid.Float64Range(20, 250).Draw(t, "head")
		for range 50 {
			torque := rapid.Float64Range(-1, 3).Draw(t, "torque")
			load := rapid.Float64Range(-2, 20).Draw(t, "load")
			before, kinetic := d, energy(d)
			through := d.Step(torque, load, dt)
			engine, head := (before.Engine+d.Engine)/2, (before.Head+d.Head)/2
			n, eta := d.Train().Ratio, d.Train().Efficiency
			slipHeat := through * (engine - n*head) * dt
			gearHeat := (1 - eta) * through * n * head * dt
			work := (torque*engine - load*head) * dt
			require.InDelta(t, work-slipHeat-gearHeat, energy(d)-kinetic, 1e-9*kinetic)
			require.GreaterOrEqual(t, gearHeat, 0.0)
			if before.Slip() >= 0 { // in the step that ends an overrun the mean slip is negative
				require.GreaterOrEqual(t, slipHeat, -1e-9*kinetic)
			}
		}
	})
}

func energy(d drive.Drive) float64 {
	return d.EngineInertia()*d.Engine*d.Engine/2 + d.HeadInertia()*d.Head*d.Head/2
}

func TestFiniteInFiniteOut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drive.New(model(), 1.5e-4, 0.06)
		for range 50 {
			torque := rapid.Float64Range(-100, 100).Draw(t, "torque")
			load := rapid.Float64Range(-1000, 1000).Draw(t, "load")
			through := d.Step(torque, load, 1e-3)
			require.GreaterOrEqual(t, through, 0.0)
			require.GreaterOrEqual(t, d.Engine, 0.0)
			require.GreaterOrEqual(t, d.Head, 0.0)
			require.False(t, math.IsNaN(d.Engine+d.Head+through))
		}
	})
}

func TestParamsAreChecked(t *testing.T) {
	require.NoError(t, model().Validate())
	p := model()
	p.Stages = nil
	require.ErrorIs(t, p.Validate(), drive.ErrNoStages)
	p.Stages = []drive.Stage{{Driver: -9, Driven: 78, Efficiency: 1}}
	require.ErrorContains(t, p.Validate(), "Stages[0].Driver is -9")
	p = model()
	p.Clutch.CapacitySpeed = 100
	require.ErrorContains(t, p.Validate(), "CapacitySpeed")
}
