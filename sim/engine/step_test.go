package engine_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"govrig/sim/engine"
)

const dt = 250e-6

// turn runs an engine alone on its inertia against a load torque.
func turn(e *engine.Engine, p engine.Params, speed float64, steps int, opening, load float64) float64 {
	angle := 0.0
	for range steps {
		angle += dt * speed
		speed = max(0, speed+dt*(e.Step(opening, speed, angle)-load)/p.Inertia)
	}
	return speed
}

func TestIdleIsHeldOnTheStop(t *testing.T) {
	p := model()
	for _, start := range []float64{2000 * rpm, 2600 * rpm, 6000 * rpm} {
		e := engine.New(p, standard(), dt)
		e.Settle(0, start, 0)
		require.InEpsilon(t, 2600*rpm, turn(&e, p, start, 40000, 0, 0), 1e-3)
	}
	e := engine.New(p, standard(), dt)
	require.Greater(t, e.IdleStop(), 0.0)
	require.Less(t, e.IdleStop(), 0.1)
}

func TestShutBarrelStopsTheEngineForGood(t *testing.T) {
	p := model()
	p.IdleSpeed = 0
	e := engine.New(p, standard(), dt)
	e.Settle(0.3, 1000, 0)
	speed := turn(&e, p, 1000, 20000, 0, 0)
	require.Zero(t, speed)
	require.False(t, e.Running)
	turn(&e, p, 1500, 100, 1, 0)
	require.False(t, e.Running)
	require.Negative(t, e.Step(1, 1500, 1e4))
}

func TestRunawayIsBounded(t *testing.T) {
	p := model()
	e := engine.New(p, standard(), dt)
	e.Settle(1, 1000, 0)
	speed := turn(&e, p, 1000, 40000, 1, 0)
	require.Greater(t, speed, p.PeakSpeed)
	require.InDelta(t, p.PeakSpeed+p.SpeedSpan, speed, 1)
}

// The torque answers a step of opening one revolution of the crank later:
// 4 ms at 15 000 rpm, whatever the step of time.
func TestTorqueComesOneRevolutionLater(t *testing.T) {
	for _, h := range []float64{250e-6, 125e-6} {
		p := model()
		p.ChargeLag, p.MixtureLag = 0, 0
		e := engine.New(p, standard(), h)
		speed, angle := 15000*rpm, 0.0
		e.Settle(0.2, speed, 0)
		before, after := e.Torque(e.Charge(0.2, speed), speed), e.Torque(e.Charge(0.6, speed), speed)
		steps := 0
		for torque := before; torque < (before+after)/2; steps++ {
			angle += h * speed
			torque = e.Step(0.6, speed, angle)
		}
		require.InDelta(t, 4e-3, float64(steps)*h, 2*h)
	}
}

// A first-order lag reaches 1 − 1/e of a step after one time constant.
func TestChargeLag(t *testing.T) {
	p := model()
	p.Delay, p.MixtureLag = 0, 0
	e := engine.New(p, standard(), dt)
	speed := 1500.0
	e.Settle(0.2, speed, 0)
	before, after := e.Torque(e.Charge(0.2, speed), speed), e.Torque(e.Charge(0.6, speed), speed)
	var torque float64
	for i := range 81 { // the first step is the ramp up to the new opening
		torque = e.Step(0.6, speed, float64(i+1)*dt*speed)
	}
	require.InDelta(t, 1-1/math.E, (torque-before)/(after-before), 0.005)
}

// While the fuel lags behind a fast opening the engine gives less than the
// charge could; in the end it gives all of it.
func TestLeanWhenOpenedFast(t *testing.T) {
	run := func(loss float64, steps int) (torque float64) {
		p := model()
		p.MixtureLoss = loss
		e := engine.New(p, standard(), dt)
		e.Settle(0.1, 1500, 0)
		for i := range steps {
			torque = e.Step(0.8, 1500, float64(i+1)*dt*1500)
		}
		return torque
	}
	require.Less(t, run(0.8, 200), 0.9*run(0, 200))
	require.InEpsilon(t, run(0, 8000), run(0.8, 8000), 1e-6)
}

// firings collects the torque of each revolution at constant speed.
func firings(e *engine.Engine, turns int) []float64 {
	out := make([]float64, turns)
	for i := range out {
		out[i] = e.Step(0.5, 1500, (float64(i)+0.5)*2*math.Pi)
	}
	return out
}

// Mean, deviation and share of misfires over 20 000 revolutions, within three
// standard errors.
func TestVariationAndMisfire(t *testing.T) {
	p := model()
	p.Variation, p.Misfire, p.Seed = 0.1, 0.02, 7
	e := engine.New(p, standard(), dt)
	e.Settle(0.5, 1500, 0)
	friction, full := e.Torque(0, 1500), e.Torque(e.Charge(0.5, 1500), 1500)
	const n = 20000
	misses, sum, squares := 0.0, 0.0, 0.0
	for _, torque := range firings(&e, n) {
		if torque == friction {
			misses++
			continue
		}
		x := (torque - friction) / (full - friction)
		sum, squares = sum+x, squares+x*x
	}
	fired := n - misses
	mean := sum / fired
	require.InDelta(t, 0.02, misses/n, 3*math.Sqrt(0.02*0.98/n))
	require.InDelta(t, 1, mean, 3*0.1/math.Sqrt(fired))
	require.InDelta(t, 0.1, math.Sqrt(squares/fired-mean*mean), 3*0.1/math.Sqrt(2*fired))
}

func TestACopyReplaysTheSameChances(t *testing.T) {
	p := model()
	p.Variation, p.Misfire = 0.2, 0.1
	e := engine.New(p, standard(), dt)
	e.Settle(0.5, 1500, 0)
	firings(&e, 50)
	c := e
	require.Equal(t, firings(&e, 100), firings(&c, 100))
	p.Seed = 1
	other := engine.New(p, standard(), dt)
	other.Settle(0.5, 1500, 0)
	require.NotEqual(t, firings(&e, 100), firings(&other, 100))
}

func TestFiniteInFiniteOut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := model()
		p.Variation, p.Misfire = 0.3, 0.1
		e := engine.New(p, standard(), dt)
		angle := 0.0
		for range 50 {
			opening := rapid.Float64Range(0, 1).Draw(t, "opening")
			speed := rapid.Float64Range(0, 1e4).Draw(t, "speed")
			angle += dt * speed
			torque := e.Step(opening, speed, angle)
			require.False(t, math.IsNaN(torque) || math.IsInf(torque, 0))
			require.Less(t, torque, 3.0)
		}
	})
}
