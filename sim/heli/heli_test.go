package heli_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"govrig/sim"
	"govrig/sim/heli"
	"govrig/sim/rotor"
)

const (
	dt     = 250e-6
	rpm    = math.Pi / 30
	degree = math.Pi / 180
)

// at is a plant in trim, with the pulse that holds it.
func at(t require.TestingT, p heli.Params, step, head, pitch float64) (*heli.Plant, sim.Input) {
	pl := heli.New(p, step)
	require.NoError(t, pl.Start(head, pitch))
	pulse, _, err := pl.Trim(head, pitch)
	require.NoError(t, err)
	return pl, sim.Input{ThrottlePulse: pulse, Collective: pitch}
}

func run(pl *heli.Plant, in sim.Input, seconds, step float64) {
	for range int(math.Round(seconds / step)) {
		pl.Step(in)
	}
}

func TestTrimHolds(t *testing.T) {
	p := heli.Medium()
	p.Servo.Resolution = 0
	rapid.Check(t, func(t *rapid.T) {
		head := rapid.Float64Range(1300, 1900).Draw(t, "rpm") * rpm
		pitch := rapid.Float64Range(-2, 7).Draw(t, "pitch") * degree
		pl, in := at(t, p, dt, head, pitch)
		run(pl, in, 5, dt)
		require.InEpsilon(t, head, pl.State().HeadSpeed, 1e-9)
		require.InEpsilon(t, head*78/9, pl.State().EngineSpeed, 1e-9)
	})
}

func TestTrimTellsWhyThereIsNone(t *testing.T) {
	p := heli.Medium()
	pl := heli.New(p, dt)
	_, _, err := pl.Trim(1660*rpm, 12*degree)
	require.ErrorIs(t, err, heli.ErrNoPower)
	require.ErrorContains(t, err, "1660 rpm on the head at 12.0° of collective")
	require.ErrorIs(t, pl.Start(1660*rpm, 12*degree), heli.ErrNoPower)

	for i := range p.Throttle {
		p.Throttle[i] = 0.5 + p.Throttle[i]/2
	}
	_, _, err = heli.New(p, dt).Trim(1660*rpm, 0)
	require.ErrorIs(t, err, heli.ErrNoRest)

	p = heli.Medium()
	p.Drive.Clutch.Capacity = 0.1
	_, _, err = heli.New(p, dt).Trim(1660*rpm, 8*degree)
	require.ErrorIs(t, err, heli.ErrSlip)

	_, _, err = pl.Trim(math.NaN(), 0)
	require.ErrorContains(t, err, "HeadSpeed")
}

// Trim reads the throttle either way round.
func TestReversedThrottle(t *testing.T) {
	p := heli.Medium()
	pulse, opening, err := heli.New(p, dt).Trim(1660*rpm, 8*degree)
	require.NoError(t, err)
	for i, j := 0, len(p.Throttle)-1; i < j; i, j = i+1, j-1 {
		p.Throttle[i], p.Throttle[j] = p.Throttle[j], p.Throttle[i]
	}
	mirrored, same, err := heli.New(p, dt).Trim(1660*rpm, 8*degree)
	require.NoError(t, err)
	require.InDelta(t, p.Servo.PulseLow+p.Servo.PulseHigh, pulse+mirrored, 1e-9)
	require.InDelta(t, opening, same, 1e-9)
	require.InDelta(t, heli.New(p, dt).State().Opening, 0.017, 0.01, "starts closed")
}

// The medium machine of 5 kg hovers on 500 to 800 W, 100 to 160 W/kg, near mid
// throttle (common practice, no source).
func TestMediumIsPlausible(t *testing.T) {
	p := heli.Medium()
	r := rotor.New(p.Rotor, p.Air.Density())
	pitch := r.CollectiveFor(5*9.80665, 1660*rpm, 0)
	require.InDelta(t, 6*degree, pitch, 1*degree)
	pl, in := at(t, p, dt, 1660*rpm, pitch)
	s := pl.State()
	hover := s.LoadTorque * s.HeadSpeed
	require.Greater(t, hover, 500.0)
	require.Less(t, hover, 800.0)
	require.Greater(t, in.ThrottlePulse, 1.3e-3)
	require.Less(t, in.ThrottlePulse, 1.7e-3)
}

func TestIdlesWithTheRotorAtRest(t *testing.T) {
	pl := heli.New(heli.Medium(), dt)
	run(pl, sim.Input{}, 5, dt)
	require.Zero(t, pl.State().HeadSpeed)
	require.InEpsilon(t, 2600*rpm, pl.State().EngineSpeed, 1e-3)
}

func TestSpoolsUpThroughTheClutchUntilItLocks(t *testing.T) {
	pl := heli.New(heli.Medium(), dt)
	in := sim.Input{ThrottlePulse: 1.45e-3}
	run(pl, in, 0.4, dt)
	s := pl.State()
	require.Greater(t, s.EngineSpeed, s.HeadSpeed*78/9+100, "slips at first")
	require.Positive(t, s.HeadSpeed)
	run(pl, in, 10, dt)
	s = pl.State()
	require.InEpsilon(t, s.HeadSpeed*78/9, s.EngineSpeed, 1e-12)
	require.Greater(t, s.HeadSpeed, 1300*rpm)
}

// With the engine cut and no pitch the rotor slows under profile drag alone,
// dΩ/dt = −kΩ², so Ω = Ω₀/(1 + kΩ₀t) exactly, k = (1+tail)·ρN_bcR⁴C_d0/8J.
func TestFreewheelsDownAfterAThrottleCut(t *testing.T) {
	p := heli.Medium()
	p.Engine.IdleSpeed = 0
	pl, _ := at(t, p, dt, 1660*rpm, 0)
	run(pl, sim.Input{ThrottlePulse: p.Servo.PulseLow}, 3, dt)
	require.False(t, pl.Running())
	start := pl.State().HeadSpeed
	r := p.Rotor
	inertia := r.Inertia + p.Drive.Stages[0].Inertia + p.Drive.Clutch.BellInertia*78*78/81
	k := (1 + r.TailShare) * p.Air.Density() * 2 * r.Chord * math.Pow(r.Radius, 4) * r.DragZero / 8 / inertia
	run(pl, sim.Input{}, 3, dt)
	require.InEpsilon(t, start/(1+k*start*3), pl.State().HeadSpeed, 1e-6)
	run(pl, sim.Input{}, 3, dt)
	require.Zero(t, pl.State().EngineSpeed, "stalled")
	require.Zero(t, pl.State().EngineTorque)
}

// In a fast descent with low pitch the air keeps the rotor turning.
func TestAutorotates(t *testing.T) {
	pl, _ := at(t, heli.Medium(), dt, 1660*rpm, 6*degree)
	low := heli.Medium().Servo.PulseLow
	run(pl, sim.Input{ThrottlePulse: low, Collective: 0, Climb: -10}, 6, dt)
	require.InEpsilon(t, 2600*rpm, pl.State().EngineSpeed, 0.05, "idles, bearing free")
	require.Greater(t, pl.State().HeadSpeed, 1600*rpm)
}

func TestForkAndSetGoOnAlike(t *testing.T) {
	p := heli.Medium()
	p.Engine.Variation, p.Engine.Misfire, p.Engine.Seed = 0.1, 0.05, 3
	pl, in := at(t, p, dt, 1660*rpm, 6*degree)
	in.ThrottlePulse += 50e-6
	run(pl, in, 0.3, dt)
	fork, other := pl.Fork().(*heli.Plant), heli.New(p, dt)
	other.Set(pl)
	for _, c := range []*heli.Plant{pl, fork, other} {
		run(c, in, 0.5, dt)
	}
	require.Equal(t, pl.State(), fork.State())
	require.Equal(t, pl.State(), other.State())
	run(pl, in, 0.1, dt)
	require.NotEqual(t, pl.State(), fork.State(), "a fork stands alone")
}

func TestStepAndSetDoNotAllocate(t *testing.T) {
	pl, in := at(t, heli.Medium(), dt, 1660*rpm, 6*degree)
	ahead := pl.Fork()
	require.Zero(t, testing.AllocsPerRun(100, func() {
		ahead.Set(pl)
		ahead.Step(in)
		_ = ahead.State()
	}))
}

func TestNewRefusesBadParams(t *testing.T) {
	p := heli.Medium()
	require.NoError(t, p.Validate())
	p.Throttle[3] = 1.5
	require.ErrorContains(t, p.Validate(), "Throttle[3] is 1.5")
	require.Panics(t, func() { heli.New(p, dt) })
	require.Panics(t, func() { heli.New(heli.Medium(), 0) })
	p = heli.Medium()
	p.Rotor.Radius = -1
	require.ErrorContains(t, p.Validate(), "rotor: Radius is -1 m")
}

// Whatever is asked of it, every number stays finite and in its range.
func TestFiniteInFiniteOut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := heli.Medium()
		p.Engine.Variation, p.Engine.Misfire = 0.2, 0.05
		pl, _ := at(t, p, dt, 1660*rpm, 6*degree)
		for range 20 {
			in := sim.Input{
				ThrottlePulse: rapid.Float64().Draw(t, "pulse"),
				Collective:    rapid.Float64().Draw(t, "collective"),
				Climb:         rapid.Float64().Draw(t, "climb"),
			}
			run(pl, in, 0.05, dt)
			s := pl.State()
			sum := s.CrankAngle + s.EngineSpeed + s.HeadSpeed + s.Opening + s.EngineTorque + s.LoadTorque
			require.False(t, math.IsNaN(sum) || math.IsInf(sum, 0), "%+v", s)
			require.True(t, s.EngineSpeed >= 0 && s.HeadSpeed >= 0 && s.Opening >= 0 && s.Opening <= 1)
			require.Less(t, s.HeadSpeed, 10000*rpm)
		}
	})
}
