package governor

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestKnob(t *testing.T) {
	p := params()
	g, err := New(p, 0)
	require.NoError(t, err)
	g.Turn(4)
	require.InDelta(t, 4*p.Gain, g.p.Gain, 1e-12)
	g.Turn(-4)
	require.InDelta(t, p.Gain, g.p.Gain, 1e-12)
	p.KnobReversed = true
	g, err = New(p, 0)
	require.NoError(t, err)
	g.Turn(2)
	require.InDelta(t, p.Gain/2, g.p.Gain, 1e-12)
}

// A dialled speed is held whatever the select line says; of stored ones the pulse
// picks the nearest; else the speed follows the pulse.
func TestSetting(t *testing.T) {
	p := params()
	p.SpeedStep = 0
	set := func(p Params, width float64) float64 {
		g, err := New(p, 0)
		require.NoError(t, err)
		g.sel.width = int64(width * p.TickRate)
		return g.setting()
	}
	middle := (p.SelectLow + p.SelectHigh) / 2
	require.InDelta(t, (p.SpeedLow+p.SpeedHigh)/2, set(p, middle), 0.5)
	stored := p
	stored.Stored = []Stored{{p.SelectLow, 900}, {p.SelectHigh, 1100}}
	require.InDelta(t, 900, set(stored, 0), 1e-9)
	require.InDelta(t, 900, set(stored, 0.9*middle), 1e-9)
	require.InDelta(t, 1100, set(stored, 1.1*middle), 1e-9)
	dialled := stored
	dialled.Dialled = 1234
	require.InDelta(t, 1234, set(dialled, middle), 1e-9)
	stored.Stored[1].Speed = 0
	require.ErrorContains(t, stored.Validate(), "Stored.Speed")
}
