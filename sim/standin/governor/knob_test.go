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
