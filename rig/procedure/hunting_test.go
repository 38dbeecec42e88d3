package procedure

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure/hunting"
	"govrig/sim/machine"
	"govrig/sim/standin/governor"
)

// spoilt is the trainer with a text of its file replaced.
func spoilt(t testing.TB, old, new string) *machine.Machine {
	text := trainer(t).Text
	require.Contains(t, text, old)
	m, err := machine.Parse("spoilt.yaml", []byte(strings.Replace(text, old, new, 1)))
	require.NoError(t, err)
	return m
}

// hunted holds a machine and looks for hunting in the steady phase, or in the
// last 20 s when it never became steady.
func hunted(t *testing.T, m *machine.Machine, setting string, time float64, change func(*governor.Params)) (b *Bench, r *Run, from, to int, f hunting.Finding) {
	b = bench(t, m, change)
	r, err := Hold(context.Background(), b, HoldOptions{Speed: setting, Time: time})
	require.NoError(t, err)
	if from, to = r.Trace.phase(phaseSteady); to == from {
		from, to = len(r.Trace.Time)-20*500, len(r.Trace.Time)
	}
	return b, r, from, to, hunting.Detect(r.Trace.speed(from, to), hunting.Config{})
}

// Hunting set up on purpose, in three ways, is found and its cause named.
func TestCausesOfHunting(t *testing.T) {
	for _, c := range []struct {
		source   hunting.Source
		backlash string
		spoil    func(*governor.Params)
	}{
		{hunting.Margin, "0.4°", func(p *governor.Params) { p.Gain *= 14 }},
		{hunting.Margin, "0.4°", func(p *governor.Params) { p.Gain *= 20 }},
		{hunting.Play, "9°", func(p *governor.Params) { p.Gain *= 3; p.IntegralTime = 0.4 }},
		{hunting.Resolution, "0.4°", func(p *governor.Params) { p.Gain *= 2; p.IntegralTime = 0.4; p.OutputStep = 40e-6 }},
	} {
		m := spoilt(t, "time_for_60_degrees: 110 ms\n", "time_for_60_degrees: 110 ms\n  backlash: "+c.backlash+"\n")
		b, r, from, to, f := hunted(t, m, "circuit", 30, c.spoil)
		require.True(t, f.Hunting(), "%s: %+v", c.source, f)
		p := m.GovernorParams(16e6)
		c.spoil(&p)
		transfer := func(w float64) complex128 { return -p.Response(w, 1660*m.Ratio()/rpm, 1.5e-3) * complex(1e6/rpm, 0) }
		causes := huntingCauses(b, f, &r.Trace, from, to, float64(m.LoadStep.CollectiveLow), transfer)
		require.NotEmpty(t, causes, "%s: %+v", c.source, f)
		require.Equal(t, c.source, causes[0].Source, "%+v", causes)
	}
}

// Two hundred healthy runs, each with its own chance from cycle to cycle: none
// is said to hunt.
func TestHealthyRunsDoNotHunt(t *testing.T) {
	seeds := 200
	if raced {
		seeds = 20
	}
	for seed := range seeds {
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			t.Parallel()
			m := spoilt(t, "idle_speed: 3200 rpm\n", fmt.Sprintf("idle_speed: 3200 rpm\n  seed: %d\n", seed+2))
			_, _, _, _, f := hunted(t, m, m.Speeds[seed%len(m.Speeds)].Name, 16, nil)
			require.False(t, f.Hunting(), "%+v", f)
		})
	}
}

func TestOutputStep(t *testing.T) {
	var part Trace
	require.Zero(t, outputStep(&part))
	for _, us := range []float64{1500, 1500, 1508, 1524, 1500.0625} {
		part.Pulses = append(part.Pulses, Pulse{Width: us * 1e-6})
	}
	require.InDelta(t, 7.94, outputStep(&part), 0.1) // one tick of 62.5 ns either way
}
