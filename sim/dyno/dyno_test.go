package dyno

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/sim"
)

func params() Params {
	return Params{Idle: 300, Wanted: 1500, Rate: 100, Give: 10, Closed: 1e-3, Open: 2e-3, Ratio: 9}
}

func turned(d *Plant, pulse, seconds float64) float64 {
	for range int(seconds / 0.001) {
		d.Step(sim.Input{ThrottlePulse: pulse})
	}
	return d.State().EngineSpeed
}

// It idles until the throttle opens, comes up at the rate, and then gives way by so
// much for the throttle, with the lag of a first order: 1 − 1/e after its time.
func TestDynamometer(t *testing.T) {
	d := New(params(), 0.001)
	require.InDelta(t, 300, turned(d, 1e-3, 2), 1e-9)
	require.InDelta(t, 300+100*5, turned(d, 1.5e-3, 5), 100*2*lag)
	require.InDelta(t, 1500, turned(d, 1.5e-3, 20), 1500*near)
	held := d.State().EngineSpeed
	require.InDelta(t, held+2*(1-1/math.E), turned(d, 1.7e-3, lag), 0.02)
	require.InDelta(t, held+2, turned(d, 1.7e-3, 3), 0.02)
	require.InDelta(t, held/9, d.State().HeadSpeed, 0.3)
}

// A throttle at its end takes the held speed along, so that a governor that is set
// to another speed comes off its end.
func TestDynamometerYields(t *testing.T) {
	d := New(params(), 0.001)
	turned(d, 1.5e-3, 30)
	before := d.State().EngineSpeed
	// Half of Give at once and Give in every second, behind by the lag.
	require.InDelta(t, before+5+10*(4-lag), turned(d, 2e-3, 4), 0.1)
	require.Less(t, turned(d, 1e-3, 4), before+1)
}

func TestForksAreTheirOwn(t *testing.T) {
	d := New(params(), 0.001)
	turned(d, 1.5e-3, 1)
	c := d.Fork()
	turned(d, 1.5e-3, 1)
	require.NotEqual(t, d.State(), c.State())
	require.Zero(t, testing.AllocsPerRun(10, func() { c.Set(d) }))
	require.Equal(t, d.State(), c.State())
}
