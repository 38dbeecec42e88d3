package hunting

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
	"govrig/rig/measure/internal/looptest"
	"govrig/rig/measure/loop"
	"govrig/rig/measure/response"
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

func (m model) known(throttle measure.Series, lost []float64) Known {
	plant := looptest.Lag(m.gain, m.t)
	return Known{
		Loop: loop.Response(m.pi.At).Times(plant), Band: loop.Band{Min: 0.05, Max: 200}, Plant: plant,
		Throttle: throttle, Low: 1500 - m.ends, High: 1500 + m.ends,
		Gap: m.gap, Quantum: m.quantum, Delay: m.pi.Delay, Lost: lost, Watched: true,
	}
}

func sound() model {
	return model{
		pi:   loop.PI{Kp: 0.1, Ti: 0.6, Delay: 0.05},
		gain: 20, t: 0.5, ends: 300, quantum: 0.5, noise: 2, load: 0.2,
	}
}

// verdicts are those on each source.
func verdicts(causes []Cause) map[Source]Verdict {
	out := map[Source]Verdict{}
	for _, c := range causes {
		out[c.Source] = c.Verdict
	}
	return out
}

func TestASoundLoopDoesNotHunt(t *testing.T) {
	m := sound()
	speed, throttle, lost := m.run(45)
	f := Detect(speed, Config{})
	require.False(t, f.Hunting(), "%+v", f)
	for _, c := range Causes(f, m.known(throttle, lost)) {
		require.Equal(t, Roughness, c.Source)
	}
}

// Hunting set up on purpose is named rightly, with the numbers, and what is not
// there is not named.
func TestCausesAreNamed(t *testing.T) {
	tests := map[Source]struct {
		spoil func(*model)
		also  []Source
	}{
		Margin:     {func(m *model) { m.pi.Kp = 0.9 }, []Source{Late}},
		Play:       {func(m *model) { m.gap, m.pi = 30, loop.PI{Kp: 0.1, Ti: 0.08, Delay: 0.03} }, nil},
		Resolution: {func(m *model) { m.quantum, m.noise, m.load = 20, 0.5, 9 }, nil},
		Dropouts:   {func(m *model) { m.drop = 0.7 }, nil},
	}
	for source, tt := range tests {
		t.Run(string(source), func(t *testing.T) {
			m := sound()
			tt.spoil(&m)
			speed, throttle, lost := m.run(45)
			f := Detect(speed, Config{})
			require.True(t, f.Hunting(), "%+v", f)
			causes := Causes(f, m.known(throttle, lost))
			require.Len(t, causes, 6)
			require.Equal(t, source, causes[0].Source, "%+v", causes)
			for _, c := range causes {
				if c.Source == source || slices.Contains(tt.also, c.Source) {
					require.Equal(t, Likely, c.Verdict, "%+v", c)
				} else {
					require.NotEqual(t, Likely, c.Verdict, "%+v", c)
				}
			}
		})
	}
}

// The same gain with a governor of 0.2 s of dead time hunts for its delay, and
// with hardly any it does not hunt.
func TestDelayIsNamedWhereItTakesTheMargin(t *testing.T) {
	m := sound()
	m.pi.Kp, m.pi.Delay = 0.5, 0.12
	speed, throttle, lost := m.run(45)
	f := Detect(speed, Config{})
	require.True(t, f.Hunting(), "%+v", f)
	var late Cause
	for _, c := range Causes(f, m.known(throttle, lost)) {
		if c.Source == Late {
			late = c
		}
	}
	require.Equal(t, Likely, late.Verdict, "%+v", late)
	require.Greater(t, late.Turned.Value, 60.0)
	k := m.known(throttle, lost)
	k.Delay = 0.002
	require.Equal(t, Unlikely, verdicts(Causes(f, k))[Late])
	m.pi.Delay = 0.002
	speed, _, _ = m.run(45)
	require.False(t, Detect(speed, Config{}).Hunting())
}

// A throttle that stands at its ends for most of each cycle though the loop has
// margin enough points to wind-up; without margin, or off the ends, it does not;
// without the loop it cannot be told.
func TestWindUpNeedsTheEndsAndTheMargin(t *testing.T) {
	swinging := func(reach float64) (f Finding, k Known) {
		m := sound()
		at := func(x float64) float64 { return math.Sin(2 * math.Pi * 0.6 * x) }
		k = m.known(sampled(30, func(x float64) float64 { return 1500 + math.Max(-300, math.Min(300, reach*at(x))) }), nil)
		return Detect(sampled(30, func(x float64) float64 { return 16000 + 500*at(x) }), Config{}), k
	}
	f, k := swinging(600)
	require.Equal(t, WindUp, Causes(f, k)[0].Source)
	require.Equal(t, Likely, Causes(f, k)[0].Verdict)
	require.InDelta(t, 2.0/3, Causes(f, k)[0].AtEnds.Value, 0.02)
	hot := k
	hot.Loop = k.Loop.Scaled(12)
	require.Equal(t, Unlikely, verdicts(Causes(f, hot))[WindUp])
	hot.Loop = nil
	require.Equal(t, Untold, verdicts(Causes(f, hot))[WindUp])
	f, k = swinging(250)
	require.Equal(t, Unlikely, verdicts(Causes(f, k))[WindUp])
}

// An engine that runs rough while the throttle hardly moves is rough by itself;
// one that the throttle drives is not.
func TestRoughnessIsTheEngines(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 9))
	next := resonance(rng, 1.5, 0.3)
	speed := sampled(30, func(float64) float64 { return 16000 + 15*next() })
	f := Detect(speed, Config{})
	require.Equal(t, Noise, f.Kind, "%+v", f)
	k := Known{Plant: looptest.Lag(20, 0.5), Throttle: sampled(30, func(float64) float64 { return 1500 + 0.3*rng.NormFloat64() })}
	require.Equal(t, map[Source]Verdict{Roughness: Likely}, verdicts(Causes(f, k)))
	for i := range k.Throttle.Y {
		k.Throttle.Y[i] = 1500 + (speed.Y[i]-16000)*0.4
	}
	require.Equal(t, map[Source]Verdict{Roughness: Unlikely}, verdicts(Causes(f, k)))
	require.Equal(t, map[Source]Verdict{Roughness: Untold}, verdicts(Causes(f, Known{})))
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
	causes := Causes(Detect(speed, Config{}), m.known(throttle, lost))
	require.Equal(t, Margin, causes[0].Source)
}

func TestNothingKnownNamesNothing(t *testing.T) {
	m := sound()
	m.pi.Kp = 0.9
	speed, _, _ := m.run(45)
	f := Detect(speed, Config{})
	require.True(t, f.Hunting())
	causes := Causes(f, Known{Amplitudes: &response.Comparison{Kind: response.DeadBand, Change: 4}})
	require.Len(t, causes, 6)
	for _, c := range causes {
		require.Equal(t, Untold, c.Verdict, "%+v", c)
		require.Equal(t, c.Source == Play, c.Change.OK())
	}
}
