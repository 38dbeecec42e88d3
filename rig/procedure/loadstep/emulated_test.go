package loadstep

import (
	"context"
	"crypto/sha256"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/rig/measure"
	"govrig/rig/procedure/hold"
	"govrig/rig/procedure/proceduretest"
)

// The same load step on the virtual board and on the real firmware in the
// emulator gives the same measures: within 1 % of each, 5 rpm, or 0.1 % of the speed. The engine
// burns evenly in it: two boards that differ by microseconds would else see
// two different runs of chance.
func TestEmulatedLoadStepEqualsVirtual(t *testing.T) {
	m := proceduretest.Spoilt(t, "idle_speed: 3200 rpm\n", "idle_speed: 3200 rpm\n  cycle_variation: 0 %\n")
	o := Options{Speed: "circuit"}
	virtual, err := o.Run(context.Background(), proceduretest.Bench(t, m, nil))
	require.NoError(t, err)
	real, err := o.Run(context.Background(), proceduretest.Emulated(t, m))
	require.NoError(t, err)
	require.True(t, real.Result.Virtual, "an emulator is no hardware")
	require.EqualValues(t, protocol.BoardMega328, real.Identity.Board)
	require.EqualValues(t, protocol.MarkEmulated, real.Identity.Marks)
	require.Equal(t, measure.Pass, real.Result.Outcome, "%+v", real.Result)
	for _, v := range virtual.Result.Measures {
		e := real.Result.Find(v.Name)
		t.Logf("%-32s %12.6f %12.6f %s", v.Name, *v.Value, *e.Value, v.Unit)
		tolerance := 0.01 * math.Abs(*v.Value)
		switch v.Unit {
		case "rpm":
			tolerance = math.Max(tolerance, 5)
		case "%": // of the declared speed; play in the linkage makes a slow swing, which two boards meet at another moment
			tolerance = math.Max(tolerance, 0.1)
		}
		if !proceduretest.RigsOwn(v.Name) {
			require.InDelta(t, *v.Value, *e.Value, tolerance, v.Name)
		}
	}
}

// In lockstep the emulated rig is deterministic: the same bytes three times.
func TestEmulatedRunIsTheSameEveryTime(t *testing.T) {
	m := proceduretest.Medium(t)
	m.LoadStep.Hold = 1
	digest := func() (sum [32]byte) {
		h := sha256.New()
		b := proceduretest.Emulated(t, m)
		b.Board = &proceduretest.Tap{ReadWriteCloser: b.Board, Each: func(m []byte) { h.Write(m) }}
		_, err := (&hold.Options{Time: 1}).Run(context.Background(), b)
		require.NoError(t, err)
		return [32]byte(h.Sum(sum[:0]))
	}
	first := digest()
	require.Equal(t, first, digest())
	require.Equal(t, first, digest())
}
