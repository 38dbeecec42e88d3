package sim_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/sim"
)

// Interpolating a pass inside a step is exact for constant acceleration, and
// good to a millionth of the step for any speed change an engine can make.
func TestCrossingIsExactForConstantAcceleration(t *testing.T) {
	const h, speed, rate = 250e-6, 1500.0, 4000.0 // a step, rad/s, rad/s²
	before := sim.State{EngineSpeed: speed}
	after := sim.State{CrankAngle: speed*h + rate*h*h/2, EngineSpeed: speed + rate*h}
	for _, x := range []float64{0, 0.1, 0.5, 0.9, 1} {
		angle := speed*h*x + rate*h*h*x*x/2
		require.InDelta(t, x, sim.Crossing(&before, &after, angle, h), 1e-6)
	}
}
