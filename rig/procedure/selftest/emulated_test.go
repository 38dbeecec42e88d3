package selftest

import (
	"context"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/procedure/proceduretest"
	"govrig/sim/standin/board"
	"govrig/sim/standin/emulator"
)

// emulatedJumpers runs the self test on the real firmware with jumpers.
func emulatedJumpers(t *testing.T, jumpers ...board.Jumper) *execution.Run {
	b := &execution.Bench{Board: proceduretest.EmulatedBoard(t, emulator.Options{Jumpers: jumpers}), Where: "emulated"}
	r, err := (&Options{}).Run(context.Background(), b)
	require.NoError(t, err)
	return r
}

// The real firmware times its own pulses over both jumpers, to the tick.
// Nothing here was checked on a chip.
func TestEmulatedSelfTestPasses(t *testing.T) {
	r := emulatedJumpers(t, pickupToProbe, stickToThrottle)
	require.Equal(t, measure.Pass, r.Result.Outcome, "%+v", r.Result)
	for _, m := range r.Result.Measures {
		if m.Value != nil && !proceduretest.RigsOwn(m.Name) {
			require.InDelta(t, 0, *m.Value, 1e-3, m.Name)
		}
	}
	require.Contains(t, r.Found[0], "Both jumpers are right")
}

// It names each wire that is wrong as it does on the virtual board: all of them
// with the tag long, some seconds each.
func TestEmulatedSelfTestNamesTheWire(t *testing.T) {
	quick := []string{"stick missing", "pickup missing", "swapped"}
	if proceduretest.Raced {
		quick = quick[2:]
	}
	for _, c := range miswired {
		if !proceduretest.Long && !slices.Contains(quick, c.name) {
			continue
		}
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			requireNamed(t, emulatedJumpers(t, c.jumpers...), c.found)
		})
	}
}
