package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"govrig/rig/measure"
	"govrig/rig/runlog"
)

// emulate starts the firmware behind a pseudo-terminal and gives its path. The
// board's time stands still for its host, however busy the computer is.
func emulate(t *testing.T, machine string, flags ...string) string {
	typed, in := io.Pipe()
	t.Cleanup(func() { in.Close() })
	return emulateTyped(t, machine, typed, flags...)
}

// emulateTyped is emulate with somebody who types.
func emulateTyped(t *testing.T, machine string, typed io.Reader, flags ...string) string {
	ctx, stop := context.WithCancel(context.Background())
	out, in := io.Pipe()
	ended := make(chan int, 1)
	var complaints bytes.Buffer
	go func() {
		args := []string{"emulate", machine, "--firmware-notes", root + "/firmware-notes", "--patience", "20s"}
		ended <- run(ctx, append(args, flags...),
			streams{in: typed, out: in, err: &complaints})
		in.Close()
	}()
	t.Cleanup(func() {
		stop()
		require.Equal(t, exitStopped, <-ended, complaints.String())
	})
	path := make([]byte, 256)
	n, err := out.Read(path)
	require.NoError(t, err) // complaints are still being written
	return strings.TrimSpace(string(path[:n]))
}

// quick is the medium machine with a load step of seconds.
func quick(t *testing.T) string {
	text, err := os.ReadFile(root + "/testdata/machines/medium-15cc.yaml")
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "quick.yaml")
	short := strings.Replace(string(text), "load_step:", "load_step:\n  hold: 4 s", 1)
	short += "\nstand_in: {spool_rate: 6000 rpm/s}\n"
	require.NoError(t, os.WriteFile(path, []byte(short), 0o644))
	return path
}

// loadStep runs the command and gives its document.
func loadStep(t *testing.T, ctx context.Context, args ...string) (code int, result measure.Result) {
	var out, complaints bytes.Buffer
	code = run(ctx, append([]string{"loadstep", "--json"}, args...), streams{in: strings.NewReader(""), out: &out, err: &complaints})
	require.NoError(t, json.Unmarshal(out.Bytes(), &result), complaints.String())
	return code, result
}

// The whole serial path: the command opens a port, the firmware answers, and
// the load step comes out as it does on the virtual board, behind a bridge that
// holds bytes back, too: what is late is no fault. How late this computer is decides
// over the rest: where it kept up, the numbers are compared.
func TestLoadStepThroughAPort(t *testing.T) {
	before := goleak.IgnoreCurrent()
	t.Cleanup(func() { goleak.VerifyNone(t, before) })
	machine := quick(t)
	code, virtual := loadStep(t, context.Background(), machine, "--virtual", "--brief", "--records", "")
	require.Equal(t, exitPass, code)
	port := []string{machine, "--port", emulate(t, machine, "--bridge", "timer-4"), "--engine-cannot-run", "--no-input", "--failsafe", "1s", "--brief", "--records", ""}
	code, real := loadStep(t, context.Background(), port...)
	require.Contains(t, []int{exitPass, exitFail, exitNoBoard}, code, "%+v", real) // the last: too busy to judge
	require.True(t, real.Virtual, "an emulator is no hardware")
	for _, v := range virtual.Measures {
		require.NotNil(t, real.Find(v.Name), v.Name)
	}
	if code == exitNoBoard {
		t.Logf("not judged: this computer was too busy for the board, as the run itself says: %v", real.Warnings)
		return
	}
	require.Greater(t, *real.Find("loop_delay").Value, 2.0)
	require.Greater(t, *real.Find("late_frames").Value, 1000.0)
	for _, v := range virtual.Measures {
		r := real.Find(v.Name)
		switch v.Unit {
		case "rpm":
			require.InDelta(t, *v.Value, *r.Value, 5, v.Name)
		case "s":
			require.InDelta(t, *v.Value, *r.Value, 0.2**v.Value, v.Name)
		}
	}
	require.InDelta(t, *virtual.Find("transient_deviation_load_on").Value, *real.Find("transient_deviation_load_on").Value, 0.3)
}

// Stopped by the person in mid run: exit code 4, a document, a kept record
// that says so, and a board that can be used at once.
func TestStoppedInMidRunOnAPort(t *testing.T) {
	machine := quick(t)
	records := t.TempDir()
	port := []string{machine, "--port", emulate(t, machine), "--engine-cannot-run", "--no-input", "--failsafe", "1s"}
	ctx, stop := context.WithCancel(context.Background())
	var out bytes.Buffer
	watched := stopAt{word: "spool-up", stop: stop}
	code := run(ctx, append([]string{"loadstep", "--records", records}, port...), streams{in: strings.NewReader(""), out: &out, err: &watched})
	require.Equal(t, exitStopped, code, watched.said.String())
	kept, err := filepath.Glob(records + "/*-loadstep")
	require.NoError(t, err)
	require.Len(t, kept, 1)
	record, err := runlog.Open(kept[0])
	require.NoError(t, err)
	require.Equal(t, "stopped", string(record.End.Reason))

	code, result := loadStep(t, context.Background(), append(port, "--brief", "--records", "")...)
	if code == exitNoBoard {
		t.Logf("not judged: this computer was too busy for the board, as the run itself says: %v", result.Warnings)
		return
	}
	require.NotNil(t, result.Find("governed_speed").Value, "the board answered again")
}

// stopAt stops a run when a word has been printed.
type stopAt struct {
	word string
	stop func()
	said bytes.Buffer
}

func (s *stopAt) Write(p []byte) (int, error) {
	s.said.Write(p)
	if bytes.Contains(s.said.Bytes(), []byte(s.word)) {
		s.stop()
	}
	return len(p), nil
}
