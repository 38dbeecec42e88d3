package main

import (
	"bytes"
	"context"
	"io"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/sim/machine"
	"govrig/sim/standin/emulator"
)

const trainerFile = root + "/testdata/machines/trainer-15cc.yaml"

// newEmulatedBench is the trainer beside the real firmware in the emulator,
// with nothing joined.
func newEmulatedBench(t *testing.T) *emulatedBench {
	m, err := machine.Load(trainerFile)
	require.NoError(t, err)
	harness, err := emulator.Build(filepath.Join(root, "firmware-notes", "emulator"))
	require.NoError(t, err)
	b, err := emulator.Open(emulator.Options{
		Harness: harness, Firmware: filepath.Join(root, "firmware-notes", "firmware", "firmware.hex"),
	})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, b.Close()) })
	return &emulatedBench{board: b, machine: m}
}

// Every word is answered, in any case of letters; what cannot be done is told
// with what can.
func TestEmulatedBenchAnswers(t *testing.T) {
	b := newEmulatedBench(t)
	for _, c := range []struct{ line, answer string }{
		{"gain up", "Not done: no governor is joined."},
		{"governor", "The governor is on its lines."},
		{"Gain down", "The gain is turned a click down."},
		{"gain sideways", "Not done: gain goes up or down."},
		{"restart", "The governor is off, and on again in a second."},
		{"jumpers", "Jumpers are in: D9-D7, D10-D8; nothing else is joined."},
		{"jumpers D11-D8", "Jumpers are in: D11-D8; nothing else is joined."},
		{"jumpers D9-D10", `Not done: "d9-d10" is no jumper from D9, D10 or D11 to D7 or D8, such as D9-D7.`},
		{"sensor", "The pickup is on the probe, the shaft at rest; the line begins low."},
		{"turn 1500 rpm", "The shaft is turned at 1500 rpm; the line begins low."},
		{"turn 10", "The shaft is turned by hand, 10 turns; the line begins low."},
		{"turn fast", "Not done: turn takes a speed, such as 1500 rpm, or a number of turns by hand, such as 10."},
		{"stop", "The pickup is on the probe, the shaft at rest; the line begins low."},
		{"nothing", "Nothing is joined."},
		{"restart", "Not done: no governor is joined."},
		{"  ", ""},
	} {
		require.Equal(t, c.answer, b.do(c.line), c.line)
		require.NoError(t, b.board.RunUntil(b.board.Now()+emulator.TickHz/50))
	}
	require.Contains(t, b.do("help"), "\"help\" is not known here. What can be typed")
}

// What is typed beside the pseudo-terminal changes the wires of the board
// behind it: the self test names them.
func TestEmulateTakesWords(t *testing.T) {
	typed, in := io.Pipe()
	path := emulateTyped(t, trainerFile, typed)
	for _, line := range []string{"jumpers D9-D8 D10-D7\n", "\n"} { // the second is read when the first is done
		_, err := io.WriteString(in, line)
		require.NoError(t, err)
	}
	require.NoError(t, in.Close())
	var out, complaints bytes.Buffer
	for try := 0; try < 4 && !strings.Contains(out.String(), "The two jumpers are swapped"); try++ {
		out.Reset() // on a computer that stood still for half a second the link was given up
		code := run(context.Background(), []string{
			"selftest", "--port", path, "--engine-cannot-run", "--no-input", "--failsafe", "1s", "--records", "",
		}, streams{in: strings.NewReader(""), out: &out, err: &complaints})
		require.Contains(t, []int{exitFail, exitNoBoard}, code, complaints.String()) // the latter: too busy to judge
	}
	require.Contains(t, out.String(), "The two jumpers are swapped", complaints.String())
	require.True(t, strings.HasPrefix(out.String(), "VIRTUAL"), out.String())
}
