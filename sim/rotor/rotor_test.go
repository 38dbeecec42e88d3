package rotor_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"govrig/sim/rotor"
)

func model() rotor.Params {
	return rotor.Params{
		Blades: 2, Radius: 0.69, Chord: 0.055, LiftSlope: 5.7, DragZero: 0.012, DragLift: 0.02,
		InducedFactor: 1.15, TipLoss: 0.97, TailShare: 0.1, Inertia: 0.06, InflowMass: 1,
	}
}

// Climb by momentum theory: v/v_h = −V_c/2v_h + √((V_c/2v_h)²+1) with
// v_h = √(T/2ρA) (Leishman, eq. 2.92; any helicopter text).
func TestClimbFollowsMomentumTheory(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		climb := rapid.Float64Range(0, 10).Draw(t, "climb")
		thrust := rapid.Float64Range(5, 150).Draw(t, "thrust")
		r := rotor.New(model(), 1.2)
		pitch := r.CollectiveFor(thrust, 174, climb)
		s := r.Steady(174, pitch, climb)
		require.InEpsilon(t, thrust, s.Thrust, 1e-9)
		vh := math.Sqrt(thrust / (2 * 1.2 * math.Pi * 0.69 * 0.69))
		x := climb / (2 * vh)
		require.InEpsilon(t, vh*(math.Sqrt(x*x+1)-x), s.Inflow, 1e-9)
	})
}

// Power in is thrust times flow plus profile drag, with nothing left over.
func TestPowerIsInducedPlusClimbPlusProfile(t *testing.T) {
	p := model()
	p.TailShare, p.DragLift = 0, 0
	r := rotor.New(p, 1.2)
	s := r.Steady(174, 0.12, 2)
	profile := 1.2 * 2 * 0.055 * 0.69 * math.Pow(174*0.69, 3) / 8 * 0.012
	require.InEpsilon(t, s.Thrust*(2+1.15*s.Inflow)+profile, s.Power, 1e-12)
	p.TailShare = 0.1
	r = rotor.New(p, 1.2)
	require.InEpsilon(t, 1.1*s.Power, r.Steady(174, 0.12, 2).Power, 1e-12)
}

func TestSteadyStateIsWhereTheInflowRests(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rotor.New(model(), 1.2)
		pitch := rapid.Float64Range(-0.2, 0.2).Draw(t, "pitch")
		s := r.Steady(150, pitch, 0)
		require.InDelta(t, 0, r.InflowRate(150, pitch, 0, s.Inflow), 1e-9)
		v := 0.0
		for range 4000 {
			v = r.NextInflow(150, pitch, 0, v, 250e-6)
		}
		require.InDelta(t, s.Inflow, v, 1e-3+1e-3*math.Abs(s.Inflow))
	})
}

// A step of collective makes the thrust leap beyond its new steady value; the
// inflow then builds with a time constant of tens of milliseconds.
func TestThrustLeapsThenSettles(t *testing.T) {
	r := rotor.New(model(), 1.2)
	before, after := r.Steady(174, 0.08, 0), r.Steady(174, 0.12, 0)
	leap := r.Thrust(174, 0.12, 0, before.Inflow)
	require.Greater(t, leap, 1.1*after.Thrust)
	v, n := before.Inflow, 0
	for v < before.Inflow+(1-1/math.E)*(after.Inflow-before.Inflow) {
		v = r.NextInflow(174, 0.12, 0, v, 250e-6)
		n++
	}
	require.InDelta(t, 0.022, float64(n)*250e-6, 0.012)
}

// Halving the step quarters the error: the method is of second order.
func TestInflowIsSecondOrder(t *testing.T) {
	r := rotor.New(model(), 1.2)
	run := func(dt float64) float64 {
		v := 0.0
		for range int(math.Round(0.02 / dt)) {
			v = r.NextInflow(174, 0.12, 0, v, dt)
		}
		return v
	}
	exact := run(1e-6)
	ratio := (run(2e-3) - exact) / (run(1e-3) - exact)
	require.InDelta(t, 4, ratio, 0.6)
}

// In the windmill state, descent beyond twice the hover's induced velocity,
// v = −V_c/2 − √((V_c/2)² − v_h²) (Leishman, section 2.13), and the air drives
// the rotor.
func TestAirDrivesTheRotorInTheWindmillState(t *testing.T) {
	r := rotor.New(model(), 1.2)
	v := 3.0
	for range 4000 {
		v = r.NextInflow(174, 0.01, -10, v, 250e-6)
	}
	vh2 := r.Thrust(174, 0.01, -10, v) / (2 * 1.2 * math.Pi * 0.69 * 0.69)
	require.InEpsilon(t, 5-math.Sqrt(25-vh2), v, 1e-6)
	require.Negative(t, r.Torque(174, 0.01, -10, v))
	require.Positive(t, r.Steady(174, 0.01, 0).Torque)
}

func TestFiniteInFiniteOut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rotor.New(model(), rapid.Float64Range(0.5, 1.5).Draw(t, "density"))
		speed := rapid.Float64Range(0, 1000).Draw(t, "speed")
		pitch := rapid.Float64Range(-0.6, 0.6).Draw(t, "pitch")
		climb := rapid.Float64Range(-50, 50).Draw(t, "climb")
		v := rapid.Float64Range(-200, 200).Draw(t, "inflow")
		for range 200 {
			v = r.NextInflow(speed, pitch, climb, v, 1e-3)
			require.Less(t, math.Abs(v), 1e4)
			require.False(t, math.IsNaN(r.Torque(speed, pitch, climb, v)))
		}
		require.False(t, math.IsNaN(r.Steady(speed, pitch, climb).Torque))
	})
}

func TestParamsAreChecked(t *testing.T) {
	require.NoError(t, model().Validate())
	p := model()
	p.Radius = -1
	require.ErrorContains(t, p.Validate(), "Radius")
	p = model()
	p.Blades = 0
	require.ErrorContains(t, p.Validate(), "Blades")
	p = model()
	p.Inertia = 1e-4
	require.ErrorContains(t, p.Validate(), "time to half speed")
}
