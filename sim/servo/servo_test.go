package servo_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"govrig/sim/servo"
)

const dt = 250e-6

func plain() servo.Params {
	return servo.Params{PulseLow: 1e-3, PulseHigh: 2e-3, Travel: math.Pi / 2, Rate: 10}
}

func run(s *servo.Servo, pulse float64, steps int) {
	for range steps {
		s.Step(pulse)
	}
}

func TestPulseRangeIsTravel(t *testing.T) {
	for pulse, want := range map[float64]float64{
		1e-3: -45, 1.5e-3: 0, 1.75e-3: 22.5, 2e-3: 45, 2.5e-3: 45, 0.5e-3: -45,
	} {
		s := servo.New(plain(), dt)
		s.Settle(0.3)
		run(&s, pulse, 2000)
		require.InDelta(t, want, s.Angle()*180/math.Pi, 1e-9, "%g s", pulse)
	}
	require.InDelta(t, 1.75e-3, plain().Pulse(0.75), 1e-15)
}

func TestNoPulseNoMotion(t *testing.T) {
	s := servo.New(plain(), dt)
	s.Settle(0.4)
	run(&s, 0, 100)
	require.Equal(t, 0.4, s.Share())
	run(&s, 1.5e-3, 2000)
	run(&s, 0, 100)
	require.InDelta(t, 0.5, s.Share(), 1e-12)
}

// "0.10 s for 60°" takes 0.10 s for 60°.
func TestRate(t *testing.T) {
	p := plain()
	p.Rate = math.Pi / 3 / 0.10
	s := servo.New(p, dt)
	s.Settle(0)
	for range 400 {
		require.Less(t, s.Angle(), (-45+60)*math.Pi/180-1e-6)
		s.Step(2e-3)
	}
	require.InDelta(t, -45+60, s.Angle()*180/math.Pi, 1e-9)
}

func TestLatency(t *testing.T) {
	p := plain()
	p.Latency, p.Rate = 10e-3, 100
	s := servo.New(p, dt)
	s.Settle(0.5)
	run(&s, 1.6e-3, 40)
	require.Equal(t, 0.5, s.Share())
	run(&s, 1.6e-3, 1)
	require.Greater(t, s.Share(), 0.5)
}

// Every change comes through a long latency in order and in time, also one
// every 2 ms.
func TestLatencyKeepsChangesApart(t *testing.T) {
	p := plain()
	p.Latency, p.Rate = 0.1, 100
	s := servo.New(p, dt)
	s.Settle(0)
	at := func(step int) float64 { return 1e-3 + 1e-6*float64(step/8%100) }
	for step := range 4000 {
		s.Step(at(step))
		if step > 410 && step%8 == 7 {
			require.InDelta(t, at(step-400)-1e-3, s.Share()*1e-3, 1e-9, "step %d", step)
		}
	}
}

// A pulse that changes in every step is merged, not lost: the servo follows a
// ramp at the latency, within the spacing of the changes.
func TestLatencyUnderAStreamOfChanges(t *testing.T) {
	p := plain()
	p.Latency, p.Rate = 0.1, 100
	s := servo.New(p, dt)
	s.Settle(0)
	for step := range 3000 {
		s.Step(1e-3 + 2e-7*float64(step))
		if step > 500 {
			require.InDelta(t, 2e-7*float64(step-400), s.Share()*1e-3, 8*2e-7)
		}
	}
}

func TestResolution(t *testing.T) {
	p := plain()
	p.Resolution = 4e-6
	s := servo.New(p, dt)
	run(&s, 1.5013e-3, 4000)
	require.InDelta(t, 0.500, s.Share(), 1e-12)
	run(&s, 1.5021e-3, 4000)
	require.InDelta(t, 0.504, s.Share(), 1e-12)
}

// describing is the complex gain of the servo for a slow sine of amplitude A
// shares about the middle, by Fourier integral over the second period.
func describing(p servo.Params, amplitude float64) (re, im float64) {
	const n = 40000
	s := servo.New(p, dt)
	s.Settle(0.5)
	for i := range 2 * n {
		angle := 2 * math.Pi * float64(i) / n
		s.Step(p.Pulse(0.5 + amplitude*math.Sin(angle)))
		if i >= n {
			y := s.Share() - 0.5
			re += 2 * y * math.Sin(angle) / n / amplitude
			im += 2 * y * math.Cos(angle) / n / amplitude
		}
	}
	return re, im
}

// Backlash of full gap b = 1 at amplitude A: 0.6, 1 and 5 (Gelb and Vander
// Velde, formula from memory; values by a separate Fourier integral). The dead
// band is the same operator on the motor.
func TestBacklashAndDeadBandDescribingFunction(t *testing.T) {
	for _, row := range [][3]float64{{0.6, 0.109551, -0.176839}, {1, 0.5, -0.318310}, {5, 0.947956, -0.114592}} {
		const amplitude = 0.2
		gap := amplitude / row[0]
		play, dead := plain(), plain()
		play.Backlash = gap * play.Travel
		dead.DeadBand = gap * 1e-3
		for _, p := range []servo.Params{play, dead} {
			re, im := describing(p, amplitude)
			require.InDelta(t, row[1], re, 2e-4)
			require.InDelta(t, row[2], im, 2e-4)
		}
	}
}

// Mid-tread steps of q = 1 at amplitude A: 0.6 and 2 (same source). The ends
// of the travel are out of reach.
func TestResolutionDescribingFunction(t *testing.T) {
	for a, want := range map[float64]float64{0.6: 1.173016, 2: 1.037489} {
		p := plain()
		p.Rate, p.Resolution = 100, 50e-6 // ten steps to the middle
		re, im := describing(p, a*0.05)
		require.InDelta(t, want, re, 2e-3)
		require.InDelta(t, 0, im, 2e-3)
	}
}

func TestStaysInItsTravel(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := plain()
		p.Latency, p.DeadBand, p.Resolution, p.Backlash = 5e-3, 4e-6, 1e-6, 0.02
		s := servo.New(p, dt)
		for range 100 {
			s.Step(rapid.Float64().Draw(t, "pulse"))
			require.GreaterOrEqual(t, s.Share(), 0.0)
			require.LessOrEqual(t, s.Share(), 1.0)
		}
	})
}

func TestParamsAreChecked(t *testing.T) {
	require.NoError(t, plain().Validate())
	p := plain()
	p.PulseHigh = p.PulseLow
	require.ErrorContains(t, p.Validate(), "PulseHigh")
}
