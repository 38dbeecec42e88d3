package heli_test

import (
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/sim"
	"govrig/sim/heli"
)

// ideal is the medium machine with a servo that is linear.
func ideal() heli.Params {
	p := heli.Medium()
	p.Servo.Rate, p.Servo.DeadBand, p.Servo.Resolution, p.Servo.Backlash = 100, 0, 0, 0
	return p
}

// response is the complex gain of the engine speed to a sine put on the input
// by shake, by Fourier integral over whole periods once the start has died out.
func response(t *testing.T, hertz, amplitude float64, shake func(*sim.Input, float64)) complex128 {
	pl, rest := at(t, ideal(), dt, 1660*rpm, 5*degree)
	still := pl.State().EngineSpeed
	period := int(math.Round(1 / (hertz * dt)))
	begin := period * int(math.Ceil(15/(float64(period)*dt)))
	const periods = 4
	var sum complex128
	for i := range begin + periods*period {
		angle := 2 * math.Pi * float64(i) / float64(period)
		in := rest
		shake(&in, amplitude*math.Sin(angle))
		before := pl.State().EngineSpeed - still
		pl.Step(in)
		if i >= begin {
			sum += complex(before, 0) * cmplx.Exp(complex(0, -angle))
		}
	}
	return sum * complex(0, 2/(amplitude*float64(periods*period)))
}

// The stepped plant, shaken by a small sine, answers as the linear one says:
// within 0.1 %, and in phase but for the step: the linear plant takes its input
// as continuous, the stepped one holds it, half a step late, and its servo is
// there by the end of the step, another half. At 5 Hz one step is 0.45°.
func TestLinearPlantIsTheSteppedOneForSmallSines(t *testing.T) {
	pl, _ := at(t, ideal(), dt, 1660*rpm, 5*degree)
	l, err := pl.Linearise(1660*rpm, 5*degree)
	require.NoError(t, err)
	for _, hertz := range []float64{0.1, 0.5, 1, 2, 5} {
		s := complex(0, 2*math.Pi*hertz)
		pulse := response(t, hertz, 5e-6, func(in *sim.Input, x float64) { in.ThrottlePulse += x })
		same(t, l.Response(s), pulse, hertz)
		load := response(t, hertz, 0.1*degree, func(in *sim.Input, x float64) { in.Collective += x })
		same(t, l.LoadResponse(s), load, hertz)
	}
}

func same(t *testing.T, want, got complex128, hertz float64) {
	t.Helper()
	ratio := got / want
	t.Logf("%g Hz: gain %+.3f %%, phase %+.3f°", hertz, 100*(cmplx.Abs(ratio)-1), cmplx.Phase(ratio)/degree)
	require.InDelta(t, 1, cmplx.Abs(ratio), 1e-3, "%g Hz", hertz)
	require.InDelta(t, 0, cmplx.Phase(ratio)/degree, 0.01+0.1*hertz, "%g Hz", hertz)
}

// The gains are those between neighbouring trims, apart from all dynamics.
func TestGainsAreThoseBetweenTrims(t *testing.T) {
	pl := heli.New(ideal(), dt)
	l, err := pl.Linearise(1660*rpm, 5*degree)
	require.NoError(t, err)
	trim := func(head, pitch float64) (pulse, opening float64) {
		pulse, opening, err := pl.Trim(head, pitch)
		require.NoError(t, err)
		return pulse, opening
	}
	const h = 0.5 * rpm
	fast, wide := trim(1660*rpm+h, 5*degree)
	slow, narrow := trim(1660*rpm-h, 5*degree)
	require.InEpsilon(t, 2*h*78/9/(fast-slow), l.PulseGain, 1e-4)
	require.InEpsilon(t, (wide-narrow)/(fast-slow), l.ThrottleSlope, 1e-4)
	more, _ := trim(1660*rpm, 5.01*degree)
	less, _ := trim(1660*rpm, 4.99*degree)
	require.InEpsilon(t, -l.PulseGain*(more-less)/(0.02*degree), l.LoadGain, 1e-3)
	require.InDelta(t, 2*math.Pi/l.EngineSpeed, l.Delay, 1e-12)
	require.Equal(t, 3e-3, l.Latency)
}

// After a small push the speed dies out along the slowest pole.
func TestSlowestPoleIsHowSpeedDiesOut(t *testing.T) {
	pl, in := at(t, ideal(), dt, 1660*rpm, 5*degree)
	l, err := pl.Linearise(1660*rpm, 5*degree)
	require.NoError(t, err)
	t.Logf("poles %.3g, pulse gain %.4g rad/s per ms, delay %.2f ms", l.Poles, l.PulseGain*1e-3, l.Delay*1e3)
	require.Len(t, l.Poles, 3)
	still := pl.State().EngineSpeed
	push := in
	push.ThrottlePulse += 5e-6
	run(pl, push, 0.2, dt)
	run(pl, in, 0.5, dt)
	first := pl.State().EngineSpeed - still
	run(pl, in, 1, dt)
	second := pl.State().EngineSpeed - still
	require.InEpsilon(t, real(l.Poles[0]), math.Log(second/first), 0.01)
}

func TestPolesWithoutChargeLag(t *testing.T) {
	p := ideal()
	p.Engine.ChargeLag = 0
	l, err := heli.New(p, dt).Linearise(1660*rpm, 5*degree)
	require.NoError(t, err)
	require.Len(t, l.Poles, 2)
	for _, pole := range l.Poles {
		require.Negative(t, real(pole))
	}
}

func TestNoLinearPlantWithoutATrim(t *testing.T) {
	_, err := heli.New(ideal(), dt).Linearise(1660*rpm, 15*degree)
	require.ErrorIs(t, err, heli.ErrNoPower)
}
