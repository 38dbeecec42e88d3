package procedure

import (
	"context"
	"crypto/sha256"
	"math"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/rig/measure"
	"govrig/sim/machine"
	"govrig/sim/standin/emulator"
	"govrig/sim/standin/governor"
)

const firmwareNotes = "../../firmware-notes"

// emulated is a bench with the real firmware in the emulator.
func emulated(t testing.TB, m *machine.Machine) *Bench {
	g, err := governor.New(m.GovernorParams(emulator.TickHz), 0)
	require.NoError(t, err)
	return &Bench{Machine: m, Board: emulatedBoard(t, emulator.Options{Governor: g}), Where: "emulated", StandIn: g}
}

// emulatedBoard is the real firmware with what the options join to it.
func emulatedBoard(t testing.TB, o emulator.Options) *emulator.Board {
	var err error
	o.Harness, err = emulator.Build(filepath.Join(firmwareNotes, "emulator"))
	require.NoError(t, err)
	o.Firmware = filepath.Join(firmwareNotes, "firmware", "firmware.hex")
	b, err := emulator.Open(o)
	require.NoError(t, err)
	return b
}

// The same load step on the virtual board and on the real firmware in the
// emulator gives the same measures: within 1 % of each, or 2 rpm. The engine
// burns evenly in it: two boards that differ by microseconds would else see
// two different runs of chance.
func TestEmulatedLoadStepEqualsVirtual(t *testing.T) {
	m := spoilt(t, "idle_speed: 3200 rpm\n", "idle_speed: 3200 rpm\n  cycle_variation: 0 %\n")
	o := LoadStepOptions{Speed: "circuit"}
	virtual, err := LoadStep(context.Background(), bench(t, m, nil), o)
	require.NoError(t, err)
	real, err := LoadStep(context.Background(), emulated(t, m), o)
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
			tolerance = math.Max(tolerance, 2)
		case "%": // of the declared speed
			tolerance = math.Max(tolerance, 100*2/(1660*m.Ratio()))
		}
		if !rigsOwn(v.Name) {
			require.InDelta(t, *v.Value, *e.Value, tolerance, v.Name)
		}
	}
}

// rigsOwn tells whether a measure is of the rig, whose boards differ, and not
// of the governor.
func rigsOwn(name string) bool {
	for _, d := range healthMeasures {
		if d.Name == name {
			return true
		}
	}
	return false
}

// In lockstep the emulated rig is deterministic: the same bytes three times.
func TestEmulatedRunIsTheSameEveryTime(t *testing.T) {
	m := trainer(t)
	m.LoadStep.Hold = 1
	digest := func() (sum [32]byte) {
		h := sha256.New()
		b := emulated(t, m)
		b.Board = &tap{ReadWriteCloser: b.Board, each: func(m []byte) { h.Write(m) }}
		_, err := Hold(context.Background(), b, HoldOptions{Time: 1})
		require.NoError(t, err)
		return [32]byte(h.Sum(sum[:0]))
	}
	first := digest()
	require.Equal(t, first, digest())
	require.Equal(t, first, digest())
}
