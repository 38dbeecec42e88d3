package response

import (
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
	"govrig/sim/standin/governor"
)

// The stand-in governor's measured response is that of its own parameters:
// PI once a frame on the mean speed over the frame (a sinc with half a frame
// of delay). Speed is played to it as pickup edges.
func TestBodeOfTheStandInGovernor(t *testing.T) {
	const ticks, frame, magnets = 16e6, 80.0, 8
	const perRPM = 2 * math.Pi / 60
	p := governor.Params{
		TickRate: ticks, PulsesPerTurn: magnets,
		ThrottleClosed: 1.1e-3, ThrottleOpen: 1.9e-3, FrameRate: frame,
		SelectLow: 1.1e-3, SelectHigh: 1.9e-3, SpeedLow: 12_000 * perRPM, SpeedHigh: 18_000 * perRPM,
		ArmOn: 0.31, ArmOff: 0.27, ArmSpeed: 2_000 * perRPM, SpoolRate: 2_000,
		Gain: 0.002, IntegralTime: 0.5, LossTime: 0.3,
	}
	g, err := governor.New(p, 0)
	require.NoError(t, err)
	m, err := NewMultisine(4, []int{2, 5, 9, 16, 27}, 60)
	require.NoError(t, err)
	m.Start = 2

	var speed, throttle measure.Series
	angle, next := 0.0, 1.0 // pulses
	const dt = 1.0 / 64000
	servo := 0.0
	for i := range int(14 / dt) {
		at := float64(i) * dt
		rpm := 15000.0
		switch {
		case at < 0.3: // below arming, so that it takes over at half throttle
			rpm = 1500
		case at >= m.Start:
			rpm += m.At(at)
		}
		angle += magnets * rpm / 60 * dt
		if angle >= next {
			back := (angle - next) / (magnets * rpm / 60)
			tick := int64(math.Round((at + dt - back) * ticks))
			g.Edge(governor.Pickup, tick, true)
			g.Edge(governor.Pickup, tick+1000, false)
			next++
		}
		if at >= servo {
			for line, width := range map[governor.Line]float64{governor.Stick: 1.5e-3, governor.Select: 1.5e-3} {
				g.Edge(line, int64(at*ticks), true)
				g.Edge(line, int64((at+width)*ticks), false)
			}
			servo += 0.022
		}
		if g.NextFrame() <= int64((at+dt)*ticks) {
			rise, width := g.Frame()
			throttle.T = append(throttle.T, float64(rise)/ticks)
			throttle.Y = append(throttle.Y, float64(width)/ticks/(p.ThrottleOpen-p.ThrottleClosed))
		}
		if i%128 == 0 {
			speed.T, speed.Y = append(speed.T, at), append(speed.Y, rpm*perRPM)
		}
	}
	points, err := Estimate(speed, throttle, m, 1)
	require.NoError(t, err)
	const h = 1 / frame
	for _, pt := range points {
		z := cmplx.Exp(complex(0, pt.Omega()*h))
		want := -complex(p.Gain, 0) * (1 + complex(h/p.IntegralTime, 0)/(z-1)) *
			cmplx.Rect(math.Sin(pt.Omega()*h/2)/(pt.Omega()*h/2), -pt.Omega()*h/2)
		require.True(t, pt.Usable)
		ratio := pt.H / want
		require.InDelta(t, 1, cmplx.Abs(ratio), 0.02, "%g Hz", pt.Frequency)
		// The last edge before a frame is up to one pulse old: half a pulse of
		// 0.5 ms on the mean, which is the governor's own added delay.
		extra := -cmplx.Phase(ratio) / pt.Omega()
		require.InDelta(t, 0.00025, extra, 0.0005, "%g Hz", pt.Frequency)
	}
	fit, err := FitPI(points)
	require.NoError(t, err)
	require.InEpsilon(t, p.Gain, fit.Kp, 0.03)
	require.InEpsilon(t, p.IntegralTime, fit.Ti, 0.05)
	require.InDelta(t, h/2+0.00025, fit.Delay, 0.0005)
}
