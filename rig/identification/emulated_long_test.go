//go:build long

package identification_test

import (
	"io"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/identification"
	"govrig/rig/procedure/proceduretest"
	"govrig/sim/standin/emulator"
	"govrig/sim/standin/gallery"
)

// bridgeDelay is what a usual bridge takes from a frame to its answer, ticks: USB
// frames of 1 ms and a latency timer of 1 ms (sim/standin/bridge).
const bridgeDelay = 2 * emulator.TickHz / 1000

// Three governors through the real firmware in the emulator, on a wire as slow as that
// of a usual bridge: what is identified is true within the same bounds.
func TestIdentifiedThroughTheFirmware(t *testing.T) {
	a, _, _ := machines(t)
	for _, member := range members("pid", "scheduled", "fast") {
		t.Run(member.Name, func(t *testing.T) {
			t.Parallel()
			on := func(g *gallery.Governor) io.ReadWriteCloser {
				return proceduretest.EmulatedBoard(t, emulator.Options{Governor: g, HostDelayTicks: bridgeDelay})
			}
			r, err := identification.Of(a, runsOn(t, member, a, a, on, "throttle", "sweep"))
			require.NoError(t, err)
			db, deg := truths(t, member, a, r)
			t.Logf("%s: %s, off by %.2f dB, %.1f°", member.Name, r.Kind, db, deg)
		})
	}
}
