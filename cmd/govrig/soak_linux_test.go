//go:build soak

package main

import (
	"os/exec"
	"testing"

	"github.com/stretchr/testify/require"
)

// built is the program as a person has it.
func built(t *testing.T) string {
	program := t.TempDir() + "/govrig"
	out, err := exec.Command("go", "build", "-o", program, ".").CombinedOutput()
	require.NoError(t, err, string(out))
	return program
}

// Eight hours of board time by the commands themselves, two at one speed setting and
// six over all of them, each run again from its record: the longer takes no more memory
// than the shorter, but for the collector's own.
//
//	go test -tags soak -run SoakByCommands -v -timeout 0 ./cmd/govrig
func TestSoakByCommands(t *testing.T) {
	program := built(t)
	short, first := longRun(t, program, "--speed", "hover", "--time", "1h")
	t.Logf("%.2f h of board time: at most %.1f MB", first/3600, short)
	long, second := longRun(t, program, "--time", "1h")
	t.Logf("%.2f h of board time: at most %.1f MB", second/3600, long)
	require.Greater(t, first+second, 8*3600.)
	require.Less(t, long, short+30)
}
