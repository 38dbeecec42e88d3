package main

import (
	"bytes"
	"context"
	"io"
	"os"
	"os/exec"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"

	"govrig/protocol"
)

// anHour is a run that nobody waits for: an hour of board time.
func anHour(records string) []string {
	return []string{"hold", root + "/testdata/machines/medium-15cc.yaml", "--virtual", "--time", "1h", "--records", records}
}

// However a run is ended, the board is stopped, the record is closed with its
// reason and the exit code is 4. A virtual board and the emulated one on a port.
func TestEveryEndIsClean(t *testing.T) {
	machine := quick(t)
	for name, end := range map[string]struct {
		by     syscall.Signal
		reason string
	}{
		"Ctrl-C":              {syscall.SIGINT, ""},
		"asked by the system": {syscall.SIGTERM, errAsked.Error()},
		"terminal closed":     {syscall.SIGHUP, errTerminal.Error()},
	} {
		for _, where := range []string{"virtual", "port"} {
			if where == "port" && end.by != syscall.SIGTERM {
				continue // one of them will do: what differs is how it is told
			}
			t.Run(name+", "+where, func(t *testing.T) {
				records := t.TempDir()
				args := anHour(records)
				if where == "port" {
					args = []string{"hold", machine, "--port", emulate(t, machine), "--time", "1h", "--failsafe", "1s",
						"--engine-cannot-run", "--no-input", "--records", records}
				}
				s := &started{Cmd: exec.Command("govrig", args...)}
				s.Stdout, s.Stderr = &s.out, &s.err
				require.NoError(t, s.Start())
				running(t, records)
				require.NoError(t, s.Process.Signal(end.by))
				require.Error(t, s.Wait())
				endedClean(t, s, records, end.reason)
			})
		}
	}
}

// endedClean looks at what a run has left that was ended before its time.
func endedClean(t *testing.T, s *started, records, reason string) {
	require.Equal(t, exitStopped, s.ProcessState.ExitCode(), s.err.String())
	record := kept(t, records)
	require.NotNil(t, record.End, "the record is closed")
	require.Equal(t, "stopped", string(record.End.Reason))
	require.Equal(t, reason, record.End.Error)
	last := newest(t, record)
	require.NotZero(t, last.Flags&protocol.TelemetrySafe, "the board was stopped")
	require.Zero(t, last.Flags&protocol.TelemetryPlaying)
}

// Nobody reads the output any more: long before the next word is said there.
func TestClosedOutputEndsARun(t *testing.T) {
	records := t.TempDir()
	s := &started{Cmd: exec.Command("govrig", anHour(records)...)}
	s.Stderr = &s.err
	out, err := s.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, s.Start())
	running(t, records)
	require.NoError(t, out.Close())
	require.Error(t, s.Wait())
	endedClean(t, s, records, errOutput.Error())
}

// A list that goes to a program that has read enough.
func TestClosedOutputEndsAList(t *testing.T) {
	s := &started{Cmd: exec.Command("govrig", "schema")}
	s.Stderr = &s.err
	far, near, err := os.Pipe()
	require.NoError(t, err)
	s.Stdout = near
	require.NoError(t, far.Close())
	require.Error(t, s.Run())
	require.NoError(t, near.Close())
	require.Equal(t, exitStopped, s.ProcessState.ExitCode(), s.err.String())
	require.Contains(t, s.err.String(), errOutput.Error())
}

// The terminal of a run goes away, and with it the way to say so.
func TestClosedTerminalEndsARun(t *testing.T) {
	records := t.TempDir()
	s := &started{Cmd: exec.Command("govrig", anHour(records)...)}
	terminal, err := pty.Start(s.Cmd)
	require.NoError(t, err)
	go func() { _, _ = io.Copy(io.Discard, terminal) }()
	running(t, records)
	require.NoError(t, terminal.Close())
	require.Error(t, s.Wait())
	require.Equal(t, exitStopped, s.ProcessState.ExitCode())
	record := kept(t, records)
	require.Equal(t, "stopped", string(record.End.Reason))
	require.Contains(t, []string{errTerminal.Error(), errOutput.Error()}, record.End.Error) // whichever comes first
}

// chatter is a port on which something talks without end, asked or not; asked
// tells when somebody asks: the zero bytes of a question.
func chatter(t *testing.T) (path string, asked <-chan bool) {
	far, near, err := pty.Open()
	require.NoError(t, err)
	fd := int(far.Fd())
	require.NoError(t, syscall.SetNonblock(fd, true))
	ctx, stop := context.WithCancel(context.Background())
	done, heard := make(chan struct{}), make(chan bool, 1)
	go func() {
		defer close(done)
		buf := make([]byte, 1024)
		for ctx.Err() == nil {
			if n, _ := syscall.Read(fd, buf); n > 0 && bytes.IndexByte(buf[:n], 0) >= 0 {
				select {
				case heard <- true:
				default:
				}
			}
			_, _ = syscall.Write(fd, []byte("temperature 21.5\r\n")) // lost where nobody reads
			time.Sleep(5 * time.Millisecond)
		}
	}()
	require.NoError(t, near.Close())
	t.Cleanup(func() { stop(); <-done; far.Close() })
	return near.Name(), heard
}

// Ctrl-C ends a command that waits for an answer on a port, though something
// else talks there without end.
func TestCtrlCEndsTheAsking(t *testing.T) {
	for _, args := range [][]string{
		{"ports"}, {"selftest", "--engine-cannot-run", "--no-input", "--records", "", "--port"}, {"flash", "--port"},
	} {
		path, asked := chatter(t)
		args = append(args, path)
		s := &started{Cmd: exec.Command("govrig", args...)}
		s.Stderr = &s.err
		require.NoError(t, s.Start())
		<-asked
		require.NoError(t, s.Process.Signal(os.Interrupt))
		start := time.Now()
		require.Error(t, s.Wait(), args)
		t.Logf("%s ended %v after Ctrl-C", args[0], time.Since(start))
		require.Equal(t, exitStopped, s.ProcessState.ExitCode(), s.err.String())
	}
}

// The emulated bench ends when nobody can type any more, and that is no failure.
func TestEmulateEndsWithItsInput(t *testing.T) {
	s := &started{Cmd: exec.Command("govrig", "emulate", quick(t), "--firmware-notes", root+"/firmware-notes")}
	s.Stdin, s.Stderr = strings.NewReader("jumpers\n"), &s.err
	var out bytes.Buffer
	s.Stdout = &out
	require.NoError(t, s.Run(), s.err.String())
	require.Contains(t, s.err.String(), "Jumpers are in")
	require.Contains(t, s.err.String(), "Nothing more will be typed")
}
