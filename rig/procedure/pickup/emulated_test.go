package pickup

import (
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/protocol/frame"
	"govrig/rig/execution"
	"govrig/rig/procedure/proceduretest"
	"govrig/sim/pickup/turned"
	"govrig/sim/standin/emulator"
)

// sensing is the emulated board with a sensor that is turned from when the
// board is first configured, as on the virtual board.
type sensing struct {
	*emulator.Board
	sensor *turned.Sensor // nil once it is turned
	wire   frame.Decoder
}

func (s *sensing) Write(p []byte) (int, error) {
	for _, c := range p {
		if m, ok := s.wire.Next(c); ok && m[0] == protocol.ConfigureID && s.sensor != nil {
			err := s.Rewire(func(_ int64, w *emulator.Wires) { w.Turned, s.sensor = s.sensor, nil })
			if err != nil {
				return 0, err
			}
		}
	}
	return s.Board.Write(p)
}

// The same verdicts through the comparator's input of the real firmware: every
// orientation and pole of the magnet, near, as it should be, and too far.
func TestEmulatedPickupVerdicts(t *testing.T) {
	m := proceduretest.Medium(t)
	speeds := []turned.Stretch{{Time: 0.1, Speed: 0}, {Time: 0.3, Speed: 1500 / execution.RPM}}
	o := &Options{Time: 3, Turning: 1500 / execution.RPM}
	low, high := band(t, m.PickupParams())
	var c, virtual Pickup
	gaps := []float64{1.4e-3, 0.4e-3, 5.2e-3}
	if proceduretest.Raced {
		gaps = gaps[:1]
	}
	for _, gap := range gaps {
		for _, p := range orientations(m.PickupParams())[:6] {
			p.Gap = gap
			label := fmt.Sprintf("magnet %s %s, %.1f mm", p.Axis, p.Pole, 1e3*gap)
			b := &execution.Bench{Machine: m, Where: "emulated", Board: &sensing{Board: proceduretest.EmulatedBoard(t, emulator.Options{}), sensor: mounted(t, m, p, speeds...)}}
			r, err := c.Measure(context.Background(), b, o)
			require.NoError(t, err)
			require.Equal(t, uint8(protocol.BoardMega328), r.Identity.Board)
			require.Equal(t, truth(t, p, 1, low, high), c.Verdict.Kind, "%s: %q", label, r.Found)

			on := virtual.probed(t, m, mounted(t, m, p, speeds...), o)
			require.Equal(t, on.Found, r.Found, label)
			if c.Verdict.PerTurn > 0 {
				require.InEpsilon(t, proceduretest.Value(t, on, "pulse_width"), proceduretest.Value(t, r, "pulse_width"), 1e-5, label)
			}
		}
	}
}
