package procedure

import (
	"context"
	"fmt"
	"math"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/protocol/frame"
	"govrig/sim/emulator"
	"govrig/sim/pickup/turned"
)

// Levels at the comparator's pin, mV: 5 V through a pull-up and the divider of
// the probe's circuit (firmware-notes, "Hall sensor with open collector"), and
// a sensor that pulls the line down.
const (
	probeHigh = 2200
	probeLow  = 100
)

// sensing is the emulated board with a turned sensor on its comparator's input.
type sensing struct {
	*emulator.Board
	sensor *turned.Sensor
	wire   frame.Decoder
	begun  int64 // when it is first listened to; 0 before
	next   int64
	high   bool
	more   bool
}

func newSensing(t *testing.T, sensor *turned.Sensor) *sensing {
	harness, err := emulator.Build(filepath.Join(firmwareNotes, "emulator"))
	require.NoError(t, err)
	b, err := emulator.Open(emulator.Options{
		Harness: harness, Firmware: filepath.Join(firmwareNotes, "firmware", "firmware.hex"),
	})
	require.NoError(t, err)
	require.NoError(t, b.Millivolts(emulator.ProbeChannel, 0, millivolts(sensor.Idle())))
	return &sensing{Board: b, sensor: sensor}
}

func millivolts(high bool) uint16 {
	if high {
		return probeHigh
	}
	return probeLow
}

// Write begins to turn the shaft when the board is first configured.
func (s *sensing) Write(p []byte) (int, error) {
	for _, c := range p {
		if m, ok := s.wire.Next(c); ok && m[0] == protocol.ConfigureID && s.begun == 0 {
			s.begun = s.Now()
			s.edge()
		}
	}
	return s.Board.Write(p)
}

func (s *sensing) edge() {
	var time float64
	time, s.high, s.more = s.sensor.Next()
	s.next = s.begun + int64(math.Round(time*emulator.TickHz))
}

// Read puts the edges of the time that it may take on the pin.
func (s *sensing) Read(p []byte) (int, error) {
	for s.more && s.next < s.Now()+emulator.TickHz {
		if err := s.Millivolts(emulator.ProbeChannel, s.next, millivolts(s.high)); err != nil {
			return 0, err
		}
		s.edge()
	}
	return s.Board.Read(p)
}

// The same verdicts through the comparator's input of the real firmware: every
// orientation and pole of the magnet, near, as it should be, and too far.
func TestEmulatedPickupVerdicts(t *testing.T) {
	m := trainer(t)
	speeds := []turned.Stretch{{Time: 0.1, Speed: 0}, {Time: 0.3, Speed: 1500 / rpm}}
	o := PickupOptions{Time: 3, Turning: 1500 / rpm}
	low, high := band(t, m.PickupParams())
	var c, virtual Pickup
	gaps := []float64{1.4e-3, 0.4e-3, 5.2e-3}
	if raced {
		gaps = gaps[:1]
	}
	for _, gap := range gaps {
		for _, p := range orientations(m.PickupParams())[:6] {
			p.Gap = gap
			label := fmt.Sprintf("magnet %s %s, %.1f mm", p.Axis, p.Pole, 1e3*gap)
			b := &Bench{Machine: m, Where: "emulated", Board: newSensing(t, mounted(t, m, p, speeds...))}
			r, err := c.Measure(context.Background(), b, o)
			require.NoError(t, err)
			require.Equal(t, uint8(protocol.BoardMega328), r.Identity.Board)
			require.Equal(t, truth(t, p, 1, low, high), c.Verdict.Kind, "%s: %q", label, r.Found)

			on := virtual.probed(t, m, mounted(t, m, p, speeds...), o)
			require.Equal(t, on.Found, r.Found, label)
			if c.Verdict.PerTurn > 0 {
				require.InEpsilon(t, value(t, on, "pulse_width"), value(t, r, "pulse_width"), 1e-5, label)
			}
		}
	}
}
