package proceduretest

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/sim/machine"
	"govrig/sim/standin/emulator"
	"govrig/sim/standin/governor"
)

// Emulated is a bench with the real firmware in the emulator.
func Emulated(t testing.TB, m *machine.Machine) *execution.Bench {
	g, err := governor.New(m.GovernorParams(emulator.TickHz), 0)
	require.NoError(t, err)
	return &execution.Bench{Machine: m, Board: EmulatedBoard(t, emulator.Options{Governor: g}), Where: "emulated", StandIn: g}
}

// EmulatedBoard is the real firmware with what the options join to it.
func EmulatedBoard(t testing.TB, o emulator.Options) *emulator.Board {
	var err error
	o.Harness, err = emulator.Build(filepath.Join(root(t), "firmware-notes", "emulator"))
	require.NoError(t, err)
	o.Firmware = filepath.Join(root(t), "firmware-notes", "firmware", "firmware.hex")
	b, err := emulator.Open(o)
	require.NoError(t, err)
	return b
}

// RigsOwn reports whether a measure is of the rig, whose boards differ, and not
// of the governor.
func RigsOwn(name string) bool {
	for _, d := range execution.HealthMeasures {
		if d.Name == name {
			return true
		}
	}
	return false
}
