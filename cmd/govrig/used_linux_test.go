package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// used is what a command took of a person's time and of the computer.
type used struct {
	waited, processor time.Duration
	resident          float64 // MB, at its most
	out               string
}

// use runs the program to its end; a limit missed or a measure not taken is one, too.
func use(t *testing.T, program string, args ...string) used {
	c := exec.Command(program, args...)
	var out, errs bytes.Buffer
	c.Stdout, c.Stderr = &out, &errs
	start := time.Now()
	require.NoError(t, c.Start())
	most := make(chan float64)
	ended := make(chan struct{})
	go func() { most <- watched(c.Process.Pid, ended) }()
	err := c.Wait()
	waited := time.Since(start)
	close(ended)
	require.True(t, err == nil || c.ProcessState.ExitCode() == exitFail, "%v: %v\n%s", args, err, &errs)
	u := used{waited: waited, processor: c.ProcessState.UserTime() + c.ProcessState.SystemTime(), out: out.String()}
	u.resident = <-most
	return u
}

// watched is the most memory, MB, that a process is seen to hold until it has ended.
// What the system says of an ended one counts the program that started it, too.
func watched(pid int, ended <-chan struct{}) (most float64) {
	for {
		text, _ := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid)) // gone is gone
		if found := highWater.FindSubmatch(text); found != nil {
			kilobytes, _ := strconv.ParseFloat(string(found[1]), 64)
			most = max(most, kilobytes/1000)
		}
		select {
		case <-ended:
			return most
		case <-time.After(5 * time.Millisecond):
		}
	}
}

var highWater = regexp.MustCompile(`VmHWM:\s+(\d+) kB`)

const medium = root + "/testdata/machines/medium-15cc.yaml"

// mostResident is how much memory a command may take, MB, however long the run.
const mostResident = 100

// longRun holds a machine for a time, runs that again from its record, and makes its
// page: each passes, the record replays the same, and none takes more memory than
// mostResident. It gives the most that one took, and the time of the board, s.
func longRun(t *testing.T, program string, args ...string) (resident, board float64) {
	records := t.TempDir()
	defer func() { require.NoError(t, os.RemoveAll(records)) }()
	for _, command := range [][]string{
		append([]string{"hold", medium, "--virtual", "--records", records}, args...),
		{"replay", "last", "--records", records},
		{"show", "last", "--records", records},
		{"report", "last", "--records", records, "-o", filepath.Join(records, "page.html")},
	} {
		u := use(t, program, command...)
		t.Logf("%-7s waited %7.2f s, processor %7.2f s, resident %5.1f MB", command[0], u.waited.Seconds(), u.processor.Seconds(), u.resident)
		require.Less(t, u.resident, float64(mostResident), command[0])
		resident = max(resident, u.resident)
		switch command[0] {
		case "hold":
			require.Contains(t, u.out, "Pass: every limit was met.")
		case "replay":
			require.Contains(t, u.out, "Nothing differs.")
		}
	}
	return resident, boardTime(t, records)
}

// The short form of the soak: twenty minutes of board time, of which all kept at once
// would take more.
func TestShortSoak(t *testing.T) {
	_, board := longRun(t, "govrig", "--speed", "hover", "--time", "500s")
	require.Greater(t, board, 1000.)
}
