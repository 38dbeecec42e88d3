package hunting

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
	"govrig/rig/measure/loop"
)

// model is a governor (PI with dead time) on a machine (one lag), simulated in
// time, with the faults that make it hunt.
type model struct {
	pi      loop.PI
	gain, t float64 // of the machine: rpm per µs, s
	gap     float64 // play, µs
	quantum float64 // of the output, µs
	ends    float64 // the output stays within ±ends, µs
	drop    float64 // seconds between bursts of lost pulses; 0 is none
	noise   float64 // rpm
	load    float64 // µs of throttle that a constant load takes
}

func (m model) run(length float64) (speed, throttle measure.Series, lost []float64) {
	rng := rand.New(rand.NewPCG(3, 3))
	const dt = 1 / rate
	late := make([]float64, int(m.pi.Delay/dt)+1)
	y, integral, driven, seen := 5.0, 0.0, 0.0, 0.0
	for i := range int(length * rate) {
		at := float64(i) * dt
		if m.drop > 0 && math.Mod(at, m.drop) < 0.1 {
			if math.Mod(at, m.drop) < dt {
				lost = append(lost, at)
			}
			seen = y - 600 // missing pulses read as too slow
		} else {
			seen = y + m.noise*rng.NormFloat64()
		}
		late[i%len(late)] = seen
		e := -late[(i+1)%len(late)]
		u := m.pi.Kp * (e + integral)
		if out := math.Max(-m.ends, math.Min(m.ends, u)); out == u {
			integral += e * dt / m.pi.Ti
		} else {
			u = out
		}
		u = quantised(u, m.quantum)
		driven = math.Max(u-m.gap/2, math.Min(u+m.gap/2, driven))
		y += dt / m.t * (m.gain*(driven-m.load) - y)
		if at > 15 {
			speed.T, speed.Y = append(speed.T, at), append(speed.Y, 16000+y)
			throttle.T, throttle.Y = append(throttle.T, at), append(throttle.Y, 1500+u)
		}
	}
	return speed, throttle, lost
}

func (m model) evidence(throttle measure.Series, lost []float64) Evidence {
	plant := loop.Lag(m.gain, m.t)
	return Evidence{
		Loop: loop.Response(m.pi.At).Times(plant), Band: loop.Band{Min: 0.05, Max: 200}, Plant: plant,
		Throttle: throttle, Gap: m.gap, Quantum: m.quantum, Lost: lost,
	}
}

func sound() model {
	return model{
		pi:   loop.PI{Kp: 0.1, Ti: 0.6, Delay: 0.05},
		gain: 20, t: 0.5, ends: 300, quantum: 0.5, noise: 2, load: 0.2,
	}
}

func TestASoundLoopDoesNotHunt(t *testing.T) {
	m := sound()
	speed, throttle, lost := m.run(45)
	f := Detect(speed, Config{})
	require.False(t, f.Hunting(), "%+v", f)
	require.Empty(t, Causes(f, m.evidence(throttle, lost)))
}

// Hunting set up on purpose is named rightly.
func TestCausesAreNamed(t *testing.T) {
	tests := map[Source]func(*model){
		Margin:     func(m *model) { m.pi.Kp = 0.9 },
		Play:       func(m *model) { m.gap, m.pi = 30, loop.PI{Kp: 0.1, Ti: 0.08, Delay: 0.03} },
		Resolution: func(m *model) { m.quantum, m.noise, m.load = 20, 0.5, 9 },
		Dropouts:   func(m *model) { m.drop = 0.7 },
	}
	for source, spoil := range tests {
		t.Run(string(source), func(t *testing.T) {
			m := sound()
			spoil(&m)
			speed, throttle, lost := m.run(45)
			f := Detect(speed, Config{})
			require.True(t, f.Hunting(), "%+v", f)
			causes := Causes(f, m.evidence(throttle, lost))
			require.NotEmpty(t, causes, "%+v", f)
			require.Equal(t, source, causes[0].Source, "%+v", causes)
			t.Logf("%.2f %s", causes[0].Weight, causes[0].Why)
		})
	}
}

// Losses that come at random do not explain a swing.
func TestRandomLossesAreNoCause(t *testing.T) {
	m := sound()
	m.pi.Kp = 0.9
	speed, throttle, _ := m.run(45)
	rng := rand.New(rand.NewPCG(8, 8))
	var lost []float64
	for range 40 {
		lost = append(lost, 45*rng.Float64())
	}
	causes := Causes(Detect(speed, Config{}), m.evidence(throttle, lost))
	require.Equal(t, Margin, causes[0].Source)
}

func TestNothingKnownNamesNothing(t *testing.T) {
	m := sound()
	m.pi.Kp = 0.9
	speed, _, _ := m.run(45)
	f := Detect(speed, Config{})
	require.True(t, f.Hunting())
	require.Empty(t, Causes(f, Evidence{}))
}
