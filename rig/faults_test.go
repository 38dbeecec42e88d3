package rig

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
)

// Missing and stray pulses were ordered; they are no fault of the rig.
func TestOrderedFaultsAreNoIntervalError(t *testing.T) {
	const stick, sel = 1600 * time.Microsecond, 1420 * time.Microsecond
	phase := func(s float64, faults ...protocol.Fault) Phase {
		return Phase{Steps: seconds(s), Stick: stick, Select: sel, Collective: 0.03, Faults: faults}
	}
	script := Script{Phases: []Phase{
		{Steps: seconds(1), Stick: 1100 * time.Microsecond, Select: sel}, phase(9),
		phase(0.5, protocol.Fault{Kind: protocol.FaultDrop, Value: 1}),
		phase(0.5, protocol.Fault{Kind: protocol.FaultDrop, Value: 20}),
		phase(0.5, protocol.Fault{Kind: protocol.FaultStray, Value: 2_000}),
		phase(0.5, protocol.Fault{Kind: protocol.FaultStray, Value: 1_000}, protocol.Fault{Kind: protocol.FaultDrop, Value: 2}),
	}}
	for shift := range int64(8) { // of the faults against the pulses
		script.Phases[1].Steps = seconds(9) + shift
		loop, _ := run(t, 0, script, nil)
		h := loop.Health()
		require.Greater(t, h.Intervals, int64(1_000))
		require.Less(t, h.WorstInterval, 0.001, "shift %d", shift)
	}
}
