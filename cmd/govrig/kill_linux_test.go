package main

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"govrig/rig/runlog"
)

var portKills = flag.Int("kills", 2, "programs killed on a pseudo-terminal")

// grown waits until the bytes of the only record below dir have grown to a size.
func grown(t *testing.T, dir string, size int64) {
	require.Eventually(t, func() bool {
		wires, _ := filepath.Glob(dir + "/*/wire.bin")
		if len(wires) != 1 {
			return false
		}
		info, err := os.Stat(wires[0])
		return err == nil && info.Size() >= size
	}, time.Minute, 5*time.Millisecond)
}

// A program that plays to a board is killed at moments drawn by lot. What it kept opens,
// is listed as cut off and replays; the board has stopped by itself when the next
// program comes.
func TestKilledOnAPort(t *testing.T) {
	machine, path := quick(t), filepath.Join(t.TempDir(), "board")
	plugIn(t, machine, path)
	random := rand.New(rand.NewPCG(14, 8))
	for i := range *portKills {
		records := filepath.Join(t.TempDir(), fmt.Sprint(i))
		program := start(t, records, "hold", machine, "--port", path, "--engine-cannot-run", "--no-input", "--failsafe", "1s")
		grown(t, records, 1+random.Int64N(100_000))
		require.NoError(t, program.Process.Kill())
		require.Error(t, program.Wait())
		record := kept(t, records)
		require.Equal(t, runlog.CutOff, record.Reason())
		code, out, complaints := command("", "replay", "last", "--records", records)
		require.Equal(t, exitPass, code, "%s%s", out, complaints)
		require.Contains(t, out, "Nothing differs")
		require.Contains(t, said(t, "runs", "--records", records), "cut-off")
	}
	require.Contains(t, ask(t, path), `"answer": "rig"`)
	t.Logf("%d programs killed on a pseudo-terminal: %d records opened and replayed", *portKills, *portKills)
}

// Programs that begin in the same second and the same folder keep out of each other's way.
func TestProgramsInOneFolder(t *testing.T) {
	records := t.TempDir()
	var programs []*started
	for range 4 {
		programs = append(programs, start(t, records, "selftest", "--virtual"))
	}
	for _, p := range programs {
		said(t, "runs", "--records", records) // beside them, and the index may tell of half a record
		require.NoError(t, p.Wait(), p.err.String())
	}
	all, err := runlog.Summaries(records)
	require.NoError(t, err)
	require.Len(t, all, 4)
	for _, s := range all {
		require.Equal(t, "pass", s.Ended)
		code, out, _ := command("", "replay", s.Run, "--records", records)
		require.Equal(t, exitPass, code)
		require.Contains(t, out, "Nothing differs")
	}
}
