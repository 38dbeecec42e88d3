package procedure

import (
	"context"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
	"govrig/rig/measure/loop"
)

// What is measured through the wire is the stand-in's own transfer function,
// worked out from its parameters, and so are the margins.
func TestSweepFindsTheStandIn(t *testing.T) {
	m := trainer(t)
	var s Sweep
	r, err := s.Measure(context.Background(), bench(t, m, nil), SweepOptions{Speed: "circuit"})
	require.NoError(t, err)
	require.Equal(t, measure.Pass, r.Result.Outcome, "%+v", r.Result)
	p := m.GovernorParams(16e6)
	engine := 1660 * m.Ratio() / rpm
	require.Len(t, s.Loads, 2)
	for _, load := range s.Loads {
		width := (1.12 + 0.76*0.45) * 1e-3 // s, near either load's: 0.2 ms more is 0.6° at 8 Hz
		truth := func(w float64) complex128 { return p.Response(w, engine, width) * complex(1e6/rpm, 0) }
		require.GreaterOrEqual(t, len(load.Points), 10)
		for _, point := range load.Points {
			want := truth(point.Omega())
			require.InDelta(t, 0, loop.Decibels(point.Gain()/cmplx.Abs(want)), 1, "%s, %g Hz", load.Name, point.Frequency)
			require.InDelta(t, 0, cmplx.Phase(point.H/want)*degrees, 3, "%s, %g Hz", load.Name, point.Frequency)
		}
		exact, err := loop.MarginsOf(func(w float64) complex128 { return -truth(w) * load.Plant(w) }, loop.Band{Min: 0.5, Max: 100})
		require.NoError(t, err)
		require.InDelta(t, exact.Phase.Value, load.Margins.Phase.Value, 3)
		require.InDelta(t, loop.Decibels(exact.Gain.Value), loop.Decibels(load.Margins.Gain.Value), 1)
		require.InEpsilon(t, p.Gain*(p.ThrottleOpen-p.ThrottleClosed)*1e6/rpm, load.Fit.Kp, 0.05)
		require.InEpsilon(t, p.IntegralTime, load.Fit.Ti, 0.05)
	}
}
