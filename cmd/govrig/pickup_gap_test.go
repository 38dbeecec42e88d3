package main

import (
	"bytes"
	"context"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/protocol/frame"
	"govrig/rig/procedure/pickup"
	"govrig/sim/machine"
	"govrig/sim/pickup/turned"
	"govrig/sim/standin/board"
)

// claims is a virtual board that says it is one of hardware, so that a person is asked
// what only a look at the engine tells.
type claims struct {
	*board.Board
	decoder frame.Decoder
	ready   []byte
}

func (c *claims) Read(p []byte) (int, error) {
	var heard [256]byte
	for len(c.ready) == 0 {
		n, err := c.Board.Read(heard[:])
		for _, x := range heard[:n] {
			if message, ok := c.decoder.Next(x); ok {
				c.ready = frame.Append(c.ready, hardware(message))
			}
		}
		if err != nil {
			return 0, err
		}
	}
	n := copy(p, c.ready)
	c.ready = c.ready[n:]
	return n, nil
}

// hardware gives a message with the identity of a board of hardware.
func hardware(message []byte) []byte {
	var id protocol.Identity
	if id.Parse(message) != nil {
		return message
	}
	id.Board = protocol.BoardMega328
	return id.AppendTo(nil)
}

// probed runs pickup with a pickup mounted with a gap, m, and answers typed, and gives
// what was said.
func probed(t *testing.T, gap float64, answers string) string {
	m, err := machine.Load(mediumFile)
	require.NoError(t, err)
	p := m.PickupParams()
	p.Gap = gap
	sensor, err := turned.New(p, m.Pickup.Active == machine.Low, turned.Stretch{Time: 1}, turned.Stretch{Time: 1, Speed: 157})
	require.NoError(t, err)
	o := benchOptions{safe: true, answers: map[string]string{"turning": "1500"}}
	o.plugged = func() (io.ReadWriteCloser, string) {
		return &claims{Board: board.New(board.Options{Turned: sensor})}, "bench"
	}
	var said bytes.Buffer
	options := pickup.Procedure.New()
	perform(context.Background(), streams{in: strings.NewReader(answers), out: &said, err: &said}, &pickup.Procedure, options, mediumFile, &o)
	return said.String()
}

// Pulses of one width come from the medium machine's gap and from one of some 4.5 mm:
// the person at the command line is asked which it is, once, and what is typed decides.
// Of a width that goes with one gap only nobody is asked.
func TestTheGapIsAskedFor(t *testing.T) {
	const asks = "Look between magnet and sensor: which is it?"
	for typed, says := range map[string]string{
		"near\n": "found: Right: the gap is about 1.4 mm", "wide\n": "4.5 mm", "": "it asks which of two gaps it is",
	} {
		said := probed(t, 1.4e-3, typed)
		require.Equal(t, 1, strings.Count(said, asks), said)
		_, verdict, _ := strings.Cut(said, "On the bench:")
		require.Contains(t, strings.Join(strings.Fields(verdict), " "), says, said)
		require.Equal(t, typed == "near\n", strings.Contains(verdict, "Pass: every limit was met"), said)
	}
	require.NotContains(t, probed(t, 2.6e-3, ""), asks)
}
