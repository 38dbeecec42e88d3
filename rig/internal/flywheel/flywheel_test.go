package flywheel

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/sim"
)

var params = Params{Inertia: 2e-4, Torque: 1, Load: 3, Drag: 1e-4, Closed: 1e-3, Open: 2e-3, Ratio: 9, Speed: 100}

// The steps land on the closed form of a first-order linear system (any
// control textbook), whatever their size.
func TestClosedForm(t *testing.T) {
	for _, h := range []float64{1e-2, 250e-6} {
		f := New(params, h)
		n := int(math.Round(2 / h))
		for range n {
			f.Step(sim.Input{ThrottlePulse: 1.5e-3, Collective: 0.1})
		}
		end := (1*0.5 - 3*0.1) / 1e-4
		tau := 2e-4 / 1e-4
		gap := (100 - end) * math.Exp(-2/tau)
		require.InDelta(t, end+gap, f.State().EngineSpeed, 1e-8)
		angle := end*2 + (100-end)*tau*(1-math.Exp(-2/tau))
		require.InDelta(t, angle, f.State().CrankAngle, 1e-7)
	}
}

func TestForkIsIndependentAndSetIsExact(t *testing.T) {
	f := New(params, 1e-3)
	c := f.Fork()
	f.Step(sim.Input{ThrottlePulse: 2e-3})
	require.NotEqual(t, f.State(), c.State())
	require.Zero(t, testing.AllocsPerRun(10, func() { c.Set(f) }))
	require.Equal(t, f.State(), c.State())
}
