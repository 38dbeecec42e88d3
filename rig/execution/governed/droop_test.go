package governed

import (
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
	"govrig/sim/machine"
)

// A sag of 3 % is a droop where the speed is back once the load is off, and none where
// it stays elsewhere, as in a dead band, where that was not waited for, or where a dead
// band was seen.
func TestDroops(t *testing.T) {
	m, err := machine.Load("../../../testdata/machines/medium-15cc.yaml")
	require.NoError(t, err)
	g := New(m, m.Speeds[0])
	declared := g.Declared()
	at := func(off float64) measure.Reading { return measure.Read(declared * (1 + off/100)) }
	require.True(t, g.Droops(3, at(0), at(0.2)))
	require.False(t, g.Droops(3, at(0), at(-1.5)))
	require.False(t, g.Droops(3, at(0), measure.Missing("not waited for")))
	g.DeadBand = 0.004
	require.False(t, g.Droops(3, at(0), at(0.2)))
}
