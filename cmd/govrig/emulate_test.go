package main

import (
	"bytes"
	"context"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

const mediumFile = root + "/testdata/machines/medium-15cc.yaml"

// What is typed beside the pseudo-terminal changes the wires of the board
// behind it: the self test names them.
func TestEmulateTakesWords(t *testing.T) {
	typed, in := io.Pipe()
	path := emulateTyped(t, mediumFile, typed)
	for _, line := range []string{"jumpers D9-D8 D10-D7\n", "\n"} { // the second is read when the first is done
		_, err := io.WriteString(in, line)
		require.NoError(t, err)
	}
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
