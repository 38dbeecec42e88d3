package sweep

import (
	"context"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/measure/loop"
	"govrig/rig/procedure/loadstep"
	"govrig/rig/procedure/proceduretest"
	"govrig/sim/machine"
	"govrig/sim/standin/governor"
)

func TestSweepFindsTheStandIn(t *testing.T) {
	m := proceduretest.Medium(t)
	sweepFindsTheStandIn(t, m, proceduretest.Bench(t, m, nil))
}

// The same through the real firmware in the emulator.
func TestEmulatedSweepFindsTheStandIn(t *testing.T) {
	m := proceduretest.Medium(t)
	sweepFindsTheStandIn(t, m, proceduretest.Emulated(t, m))
}

// sweepFindsTheStandIn: what is measured through the wire is the stand-in's own
// transfer function, worked out from its parameters, and so are the margins.
func sweepFindsTheStandIn(t *testing.T, m *machine.Machine, b *execution.Bench) {
	var s Sweep
	r, err := s.Measure(context.Background(), b, &Options{Speed: "circuit"})
	require.NoError(t, err)
	require.Equal(t, measure.Pass, r.Result.Outcome, "%+v", r.Result)
	p := m.GovernorParams(16e6)
	engine := 1660 * m.Ratio() / execution.RPM
	require.Len(t, s.Points, 2)
	for _, load := range s.Points {
		width := (1.12 + 0.76*0.45) * 1e-3 // s, near either load's: 0.2 ms more is 0.6° at 8 Hz
		truth := func(w float64) complex128 { return p.Response(w, engine, width) * complex(1e6/execution.RPM, 0) }
		require.GreaterOrEqual(t, len(load.Response), 10)
		for _, point := range load.Response {
			want := truth(point.Omega())
			require.InDelta(t, 0, loop.Decibels(point.Gain()/cmplx.Abs(want)), 1, "%s, %g Hz", load.Name, point.Frequency)
			require.InDelta(t, 0, cmplx.Phase(point.H/want)*execution.Degrees, 3, "%s, %g Hz", load.Name, point.Frequency)
		}
		exact, err := loop.MarginsOf(func(w float64) complex128 { return -truth(w) * load.Plant(w) }, loop.Band{Min: 0.5, Max: 100})
		require.NoError(t, err)
		require.InDelta(t, exact.Phase.Value, load.Margins.Phase.Value, 3)
		require.InDelta(t, loop.Decibels(exact.Gain.Value), loop.Decibels(load.Margins.Gain.Value), 1)
		require.InEpsilon(t, p.Gain*(p.ThrottleOpen-p.ThrottleClosed)*1e6/execution.RPM, load.Fit.Kp, 0.05)
		require.InEpsilon(t, p.IntegralTime, load.Fit.Ti, 0.05)
	}
}

// The advice is confirmed by doing as it says: the gain turned by the advised
// factor, the margins are those it promised, and the load step dips as it
// said.
func TestAdviceHoldsWhenFollowed(t *testing.T) {
	m := proceduretest.Medium(t)
	starts := []float64{0.5, 6}
	if proceduretest.Raced {
		starts = starts[:1]
	}
	for _, start := range starts {
		var before, after Sweep
		r, err := before.Measure(context.Background(), proceduretest.Bench(t, m, func(p *governor.Params) { p.Gain *= start }), &Options{Speed: "circuit"})
		require.NoError(t, err)
		factor := proceduretest.Value(t, r, "advised_gain_factor")
		followed := func(p *governor.Params) { p.Gain *= start * factor }
		_, err = after.Measure(context.Background(), proceduretest.Bench(t, m, followed), &Options{Speed: "circuit"})
		require.NoError(t, err)
		least := 90.0
		for _, p := range after.Points {
			least = min(least, p.Margins.Phase.Value)
			require.Greater(t, p.Margins.Phase.Value, 41.0, p.Name)
			require.Greater(t, loop.Decibels(p.Margins.Gain.Value), 5.0, p.Name)
			require.Less(t, p.Margins.Sensitivity.Value, 2.5, p.Name)
		}
		require.InDelta(t, 45, least, 4)
		l, err := (&loadstep.Options{Speed: "circuit"}).Run(context.Background(), proceduretest.Bench(t, m, followed))
		require.NoError(t, err)
		// The prediction is linear; the servo's rate, dead band and play make
		// the real dip deeper.
		dip := proceduretest.Value(t, l, "transient_deviation_load_on")
		require.Less(t, dip, proceduretest.Value(t, r, "expected_dip"))
		require.InEpsilon(t, proceduretest.Value(t, r, "expected_dip"), dip, 0.3)
	}
}

// One sweep over every speed setting of the machine.
func TestSweepOfAllSpeeds(t *testing.T) {
	m := proceduretest.Medium(t)
	var s Sweep
	r, err := s.Measure(context.Background(), proceduretest.Bench(t, m, nil), &Options{Speed: execution.AllSpeeds})
	require.NoError(t, err)
	require.Equal(t, measure.Pass, r.Result.Outcome)
	require.Len(t, s.Points, 6)
	require.Greater(t, proceduretest.Value(t, r, "phase_margin_brisk_heavy"), 45.0)
	require.True(t, s.Advice.OneGainFits)
}
