package main

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/rig/runlog"
)

// started is a govrig in a process of its own.
type started struct {
	*exec.Cmd
	out, err bytes.Buffer
}

// start starts one; what it keeps appears below records.
func start(t *testing.T, records string, args ...string) *started {
	s := &started{Cmd: exec.Command("govrig", append(args, "--records", records)...)}
	s.Stdout, s.Stderr = &s.out, &s.err
	require.NoError(t, s.Start())
	t.Cleanup(func() { _ = s.Process.Kill(); _, _ = s.Process.Wait() })
	return s
}

// running waits until a record below dir has grown.
func running(t *testing.T, dir string) {
	require.Eventually(t, func() bool {
		wires, _ := filepath.Glob(dir + "/*/wire.bin")
		if len(wires) != 1 {
			return false
		}
		info, err := os.Stat(wires[0])
		return err == nil && info.Size() > 4_000
	}, time.Minute, 20*time.Millisecond)
}

// kept opens the only record below dir.
func kept(t *testing.T, dir string) *runlog.Record {
	found, err := filepath.Glob(dir + "/2*")
	require.NoError(t, err)
	require.Len(t, found, 1)
	record, err := runlog.Open(found[0])
	require.NoError(t, err)
	return record
}

// newest is the last that a record has of its board.
func newest(t *testing.T, record *runlog.Record) (last protocol.Telemetry) {
	require.NoError(t, record.Messages(func(m runlog.Message) bool {
		_ = last.Parse(m.Bytes) // others leave it as it is
		return true
	}))
	return last
}

// A second program that wants the port is told who has it, and the run goes
// on. Then the computer stands still for longer than the failsafe time, as a
// laptop does whose lid is closed: the board becomes safe by itself, the run
// says why it ended, its record is kept, and the board is there for the next.
func TestSecondOpenerAndSuspendedHost(t *testing.T) {
	records, path := t.TempDir(), filepath.Join(t.TempDir(), "board")
	plugIn(t, quick(t), path)
	run1 := start(t, records, "loadstep", quick(t), "--port", path, "--engine-cannot-run", "--no-input", "--failsafe", "1s")
	running(t, records)

	var out, complaints bytes.Buffer
	code := run(context.Background(), []string{"loadstep", quick(t), "--port", path, "--engine-cannot-run", "--no-input", "--records", ""},
		streams{in: strings.NewReader(""), out: &out, err: &complaints})
	require.Equal(t, exitNoBoard, code)
	require.Contains(t, complaints.String(), "in use by govrig (process ")
	require.Contains(t, complaints.String(), "close the other program")

	require.NoError(t, run1.Process.Signal(syscall.SIGSTOP))
	time.Sleep(2500 * time.Millisecond)
	require.NoError(t, run1.Process.Signal(syscall.SIGCONT))
	require.Error(t, run1.Wait())
	require.Equal(t, exitNoBoard, run1.ProcessState.ExitCode(), run1.err.String())
	require.Regexp(t, `kept the board waiting, and it went to its safe state`, run1.err.String())
	record := kept(t, records)
	require.Equal(t, "error", string(record.End.Reason))
	require.Regexp(t, "safe state|silent", record.End.Error) // the emulated board waits for an answer, and so cannot start over
	last := newest(t, record)
	require.NotZero(t, last.Flags&protocol.TelemetrySafe)
	require.Zero(t, last.Flags&protocol.TelemetryPlaying, "no pickup pulses")

	require.Contains(t, ask(t, path), `"answer": "rig"`)
}

// ask gives what govrig ports finds on a port.
func ask(t *testing.T, path string) string {
	var out, complaints bytes.Buffer
	code := run(context.Background(), []string{"ports", path, "--json"}, streams{in: strings.NewReader(""), out: &out, err: &complaints})
	require.Equal(t, exitPass, code, out.String()+complaints.String())
	return out.String()
}

// The board is unplugged in mid run and plugged in again. The run ends with a
// clear word and its record; commission keeps what it had, and goes on from
// there, with no more said than the same command again.
func TestReplugAndCommissionGoesOn(t *testing.T) {
	records, machine := t.TempDir(), quick(t)
	port := filepath.Join(t.TempDir(), "board") // as udev's links by serial number
	unplug := plugIn(t, machine, port)
	args := []string{"commission", machine, "--port", port, "--engine-cannot-run", "--no-input", "--failsafe", "1s",
		"--leave-out", "selftest,pickup,accept,throttle,hold,loadstep,sweep,tune,faults"}
	first := start(t, records, args...)
	running(t, records)
	unplug()
	require.Error(t, first.Wait())
	require.Equal(t, exitNoBoard, first.ProcessState.ExitCode(), first.err.String())
	require.Contains(t, first.err.String(), "was the board unplugged?")
	record := kept(t, records)
	require.Equal(t, "error", string(record.End.Reason))
	require.Contains(t, record.End.Error, "unplugged")
	require.NotZero(t, newest(t, record).Ticks)

	plugIn(t, machine, port)
	again := start(t, records, args...)
	_ = again.Wait() // the verdict is not proven, and this computer may be late
	require.Regexp(t, `spoolup: (pass|fail|error)`, again.err.String())
	require.NotContains(t, again.err.String(), "unplugged")
	found, err := filepath.Glob(records + "/*-spoolup*")
	require.NoError(t, err)
	require.Len(t, found, 2)
}

// plugIn starts the firmware, which waits for no host, and links its
// pseudo-terminal to path. Unplugging takes the terminal away.
func plugIn(t *testing.T, machine, path string) (unplug func()) {
	board := exec.Command("govrig", "emulate", machine, "--patience", "0", "--firmware-notes", root+"/firmware-notes")
	board.Stderr = os.Stderr
	out, err := board.StdoutPipe()
	require.NoError(t, err)
	in, err := board.StdinPipe() // as long as it is open somebody may type
	require.NoError(t, err)
	t.Cleanup(func() { in.Close() })
	require.NoError(t, board.Start())
	unplug = func() { _ = board.Process.Signal(os.Interrupt); _ = board.Wait() }
	t.Cleanup(unplug)
	said := make([]byte, 256)
	n, err := out.Read(said)
	require.NoError(t, err)
	_ = os.Remove(path)
	require.NoError(t, os.Symlink(strings.TrimSpace(string(said[:n])), path))
	return unplug
}
