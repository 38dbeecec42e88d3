package hold

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure"
	"govrig/rig/measure/hunting"
	"govrig/rig/phase"
	"govrig/rig/procedure/proceduretest"
	"govrig/sim/machine"
	"govrig/sim/standin/governor"
)

// hunted holds a healthy machine and looks for hunting in the steady phase.
func hunted(t *testing.T, m *machine.Machine, setting string) (f hunting.Finding, words string) {
	r, err := (&Options{AtSpeeds: governed.AtEach(setting), Time: 16}).Run(context.Background(), proceduretest.Bench(t, m, nil))
	require.NoError(t, err)
	from, to := r.Trace.Span(phase.Of(phase.Steady))
	return hunting.Detect(r.Trace.EngineSpeed(from, to), hunting.Config{}), proceduretest.Words(r)
}

// Hunting set up on purpose, in ways of its own each, is found and its cause named,
// by the run alone; and no other cause is.
func TestCausesOfHunting(t *testing.T) {
	const gain, integral, delay, play, steps = "cause is the gain", "cause is the integral", "cause is delay", "throttle_servo.backlash", "its own steps"
	all := []string{gain, integral, delay, play, steps, "wind-up", "roughness"}
	for name, c := range map[string]struct {
		old, new string
		says     []string
		spoil    func(*governor.Params)
	}{
		"gain":         {"110 ms", "110 ms", []string{gain}, func(p *governor.Params) { p.Gain *= 12 }},
		"more gain":    {"110 ms", "110 ms", []string{gain}, func(p *governor.Params) { p.Gain *= 20 }},
		"integral":     {"110 ms", "110 ms\n  backlash: 0°", []string{integral}, func(p *governor.Params) { p.Gain *= 0.3; p.IntegralTime = 0.04 }},
		"play":         {"110 ms", "110 ms\n  backlash: 9°", []string{play}, func(p *governor.Params) { p.Gain *= 3; p.IntegralTime = 0.4 }},
		"coarse":       {"110 ms", "110 ms", []string{steps}, func(p *governor.Params) { p.IntegralTime = 0.4; p.OutputStep = 40e-6 }},
		"slow frames":  {"110 ms", "110 ms", []string{gain, delay}, func(p *governor.Params) { p.Gain *= 7; p.FrameRate = 16 }},
		"rough engine": {"idle_speed: 3200 rpm\n", "idle_speed: 3200 rpm\n  cycle_variation: 30 %\n  seed: 4\n", []string{"roughness"}, func(p *governor.Params) { p.Gain *= 4 }},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			time := execution.Time(30)
			if name == "rough engine" {
				time = 10
			}
			r, err := (&Options{AtSpeeds: governed.AtEach("circuit"), Time: time}).Run(context.Background(), proceduretest.Bench(t, proceduretest.Spoilt(t, c.old, c.new), c.spoil))
			require.NoError(t, err)
			words := proceduretest.Words(r)
			t.Logf("%.0f s: %s", proceduretest.Lasted(r), words)
			require.Equal(t, name != "rough engine", strings.Contains(words, "hunts"))
			for _, cause := range all {
				require.Equal(t, slices.Contains(c.says, cause), strings.Contains(words, cause), cause)
			}
		})
	}
}

// A slow swing is found with the usual time, which is gone on with as long as the
// speed wanders; and one too slow for the longest window is not 0, but not known.
func TestSlowHunting(t *testing.T) {
	for _, c := range []struct{ gain, integral, frequency float64 }{{0.3, 0.07, 0.6}, {0.2, 0.05, 0.59}, {0.05, 0.1, 0.14}} {
		r, err := (&Options{AtSpeeds: governed.AtEach("circuit"), Time: 10}).Run(context.Background(), proceduretest.Bench(t, proceduretest.Medium(t), func(p *governor.Params) {
			p.Gain *= c.gain
			p.IntegralTime = c.integral
		}))
		require.NoError(t, err)
		require.InEpsilon(t, c.frequency, proceduretest.Value(t, r, "hunting_frequency"), 0.2)
		require.Equal(t, measure.Fail, proceduretest.Outcome(t, r, "hunting_swing"))
		from, to := r.Trace.Span(phase.Of(phase.Steady))
		require.Greater(t, r.Trace.Time[to-1]-r.Trace.Time[from], 3/c.frequency)
	}
}

// A phase is gone on with while means of whole seconds wander, and not for a swing
// that goes round within a second.
func TestWanders(t *testing.T) {
	swing := func(hertz, amplitude, drift float64) (s measure.Series) {
		for i := range 6000 {
			at := float64(i) / 500
			s.T, s.Y = append(s.T, at), append(s.Y, 14_000+amplitude*math.Sin(2*math.Pi*hertz*at)+drift*at)
		}
		return s
	}
	require.True(t, wanders(swing(0.56, 60, 0), 28))
	require.True(t, wanders(swing(0.1, 60, 0), 28))
	require.True(t, wanders(swing(4, 0, 4), 28))
	require.False(t, wanders(swing(4, 600, 0), 28))
	require.False(t, wanders(swing(0.56, 10, 0), 28))
	require.False(t, wanders(swing(4, 0, 1), 28))
}

// Two hundred healthy runs, each with its own chance from cycle to cycle: none
// is said to hunt.
func TestHealthyRunsDoNotHunt(t *testing.T) {
	seeds := 200
	if proceduretest.Raced {
		seeds = 20
	}
	for seed := range seeds {
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			t.Parallel()
			m := proceduretest.Spoilt(t, "idle_speed: 3200 rpm\n", fmt.Sprintf("idle_speed: 3200 rpm\n  seed: %d\n", seed+2))
			speed := m.Speeds[seed%len(m.Speeds)]
			f, words := hunted(t, m, speed.Name)
			require.NotContains(t, words, "hunts")
			if f.Hunting() { // a small swing in the play of the linkage, as there is
				require.Less(t, 100*f.Swing, governed.MostHunting/2*float64(speed.HeadSpeed)*m.Ratio()*execution.RPM, "%+v", f)
			}
		})
	}
}
