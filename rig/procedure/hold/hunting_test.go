package hold

import (
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure/hunting"
	"govrig/rig/phase"
	"govrig/rig/procedure/proceduretest"
	"govrig/sim/machine"
	"govrig/sim/standin/governor"
)

// hunted holds a machine and looks for hunting in the steady phase, or in the
// last 20 s when it never became steady.
func hunted(t *testing.T, m *machine.Machine, setting string, time float64, change func(*governor.Params)) (b *execution.Bench, r *execution.Run, from, to int, f hunting.Finding) {
	b = proceduretest.Bench(t, m, change)
	r, err := (&Options{Speed: setting, Time: execution.Time(time)}).Run(context.Background(), b)
	require.NoError(t, err)
	if from, to = r.Trace.Span(phase.Of(phase.Steady)); to == from {
		from, to = len(r.Trace.Time)-20*500, len(r.Trace.Time)
	}
	return b, r, from, to, hunting.Detect(r.Trace.EngineSpeed(from, to), hunting.Config{})
}

// Hunting set up on purpose, in three ways, is found and its cause named.
func TestCausesOfHunting(t *testing.T) {
	for _, c := range []struct {
		source   hunting.Source
		backlash string
		spoil    func(*governor.Params)
	}{
		{hunting.Margin, "0.4°", func(p *governor.Params) { p.Gain *= 12 }},
		{hunting.Margin, "0.4°", func(p *governor.Params) { p.Gain *= 20 }},
		{hunting.Play, "9°", func(p *governor.Params) { p.Gain *= 3; p.IntegralTime = 0.4 }},
		{hunting.Resolution, "0.4°", func(p *governor.Params) { p.Gain *= 2; p.IntegralTime = 0.4; p.OutputStep = 40e-6 }},
	} {
		m := proceduretest.Spoilt(t, "time_for_60_degrees: 110 ms\n", "time_for_60_degrees: 110 ms\n  backlash: "+c.backlash+"\n")
		b, r, from, to, f := hunted(t, m, "circuit", 30, c.spoil)
		require.True(t, f.Hunting(), "%s: %+v", c.source, f)
		p := m.GovernorParams(16e6)
		c.spoil(&p)
		transfer := func(w float64) complex128 {
			return -p.Response(w, 1660*m.Ratio()/execution.RPM, 1.5e-3) * complex(1e6/execution.RPM, 0)
		}
		causes := governed.HuntingCauses(b, f, &r.Trace, from, to, float64(m.LoadStep.CollectiveLow), transfer)
		require.NotEmpty(t, causes, "%s: %+v", c.source, f)
		require.Equal(t, c.source, causes[0].Source, "%+v", causes)
	}
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
			_, _, _, _, f := hunted(t, m, m.Speeds[seed%len(m.Speeds)].Name, 16, nil)
			require.False(t, f.Hunting(), "%+v", f)
		})
	}
}

func TestOutputStep(t *testing.T) {
	var part execution.Trace
	require.Zero(t, governed.OutputStep(&part))
	for _, us := range []float64{1500, 1500, 1508, 1524, 1500.0625} {
		part.Pulses = append(part.Pulses, execution.Pulse{Width: us * 1e-6})
	}
	require.InDelta(t, 7.94, governed.OutputStep(&part), 0.1) // one tick of 62.5 ns either way
}
