package turntable

import (
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/sim"
)

// Constant speed and a straight ramp are exact: the angle is the area under
// the speed.
func TestAngleIsTheAreaUnderTheSpeed(t *testing.T) {
	p := New(0.001)
	for i := range 1000 {
		p.Step(sim.Input{Turn: 0.1 * float64(i+1)})
	}
	require.InDelta(t, 50, p.State().CrankAngle, 1e-9)
	require.InDelta(t, 100, p.State().EngineSpeed, 1e-9)
	c := p.Fork()
	for range 1000 {
		p.Step(sim.Input{Turn: 100})
	}
	require.InDelta(t, 150, p.State().CrankAngle, 1e-9)
	require.InDelta(t, 50, c.State().CrankAngle, 1e-9)
	require.Zero(t, testing.AllocsPerRun(10, func() { c.Set(p) }))
	require.Equal(t, p.State(), c.State())
}
