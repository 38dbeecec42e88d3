package rig

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
)

// Missing and stray pulses were ordered; they are no fault of the rig. The
// orders come at every moment between two pulses.
func TestOrderedFaultsAreNoIntervalError(t *testing.T) {
	const stick, sel = 1600 * time.Microsecond, 1420 * time.Microsecond
	phase := func(steps int64, faults ...protocol.Fault) Phase {
		return Phase{Steps: steps, Stick: stick, Select: sel, Collective: 0.03, Faults: faults}
	}
	script := Script{Phases: []Phase{
		{Steps: seconds(1), Stick: 1100 * time.Microsecond, Select: sel}, phase(seconds(9)),
	}}
	for range 100 {
		script.Phases = append(script.Phases,
			phase(401, protocol.Fault{Kind: protocol.FaultDrop, Value: 1}),
			phase(402, protocol.Fault{Kind: protocol.FaultDrop, Value: 9}),
			phase(403, protocol.Fault{Kind: protocol.FaultStray, Value: 2_000}),
			phase(404, protocol.Fault{Kind: protocol.FaultStray, Value: 1_000}, protocol.Fault{Kind: protocol.FaultDrop, Value: 2}))
	}
	loop, _ := run(t, 0, script, nil)
	h := loop.Health()
	require.Greater(t, h.Intervals, int64(5_000))
	require.Less(t, h.WorstInterval, 0.001)
}
