//go:build unix

package runlog_test

import (
	"context"
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strconv"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/procedure/hold"
	"govrig/rig/record/replay"
	"govrig/rig/runlog"
	"govrig/rig/tick"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
	"govrig/sim/standin/governor"
)

// The test program runs itself as a helper, which is told by these variables
// where its record goes and at which sample it is to be killed, or at which
// size its disk takes no more of a file.
const (
	helperDir  = "RUNLOG_HELPER_DIR"
	helperKill = "RUNLOG_HELPER_KILL"
	helperFull = "RUNLOG_HELPER_FULL"
	helperReal = "RUNLOG_HELPER_REAL" // as a board in real time
)

func TestMain(m *testing.M) {
	if dir := os.Getenv(helperDir); dir != "" {
		help(dir, number(helperKill), number(helperFull))
		return
	}
	os.Exit(m.Run())
}

func number(name string) int {
	n, _ := strconv.Atoi(os.Getenv(name))
	return n
}

// help makes one run and is killed in the middle of it, or writes the outcome
// and the last moment of the board to standard output. After each sample the
// file "reached" beside the record holds its moment.
func help(dir string, kill, full int) {
	m, err := machine.Load("../../testdata/machines/medium-15cc.yaml")
	check(err)
	g, err := governor.New(m.GovernorParams(board.TickHz), 0)
	check(err)
	reached, err := os.Create(dir + ".reached")
	check(err)
	b := &execution.Bench{Machine: m, Board: board.New(board.Options{Governor: g}), Where: "virtual", StandIn: g}
	if os.Getenv(helperReal) != "" {
		frames := 0
		b.Clock = func() time.Duration { frames++; return time.Duration(frames) * 2 * time.Millisecond }
	}
	b.Record = func(info runlog.Info) (*runlog.Writer, error) {
		w, err := runlog.Create(dir, info)
		if full > 0 {
			signal.Ignore(syscall.SIGXFSZ)
			check(syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: uint64(full), Max: uint64(full)}))
		}
		return w, err
	}
	samples := 0
	b.Progress = func(_ string, s *runlog.Sample) {
		var moment [8]byte
		binary.LittleEndian.PutUint64(moment[:], uint64(s.Ticks))
		_, err := reached.WriteAt(moment[:], 0)
		check(err)
		if samples++; samples == kill {
			check(syscall.Kill(os.Getpid(), syscall.SIGKILL))
			select {}
		}
	}
	r, err := (&hold.Options{Time: 1}).Run(context.Background(), b)
	check(err)
	fmt.Println(r.Result.Outcome)
	for _, warning := range r.Result.Warnings {
		fmt.Println(warning)
	}
}

func check(err error) {
	if err != nil {
		panic(err)
	}
}

// run runs the helper; reached is the moment of its last sample.
func run(t *testing.T, dir string, environment ...string) (out string, reached int64, err error) {
	c := exec.Command(os.Args[0])
	c.Env = append(os.Environ(), append(environment, helperDir+"="+dir)...)
	text, err := c.Output()
	moment, readErr := os.ReadFile(dir + ".reached")
	require.NoError(t, readErr)
	require.Len(t, moment, 8)
	return string(text), int64(binary.LittleEndian.Uint64(moment)), err
}

// latest gives the moments of the newest sample and of the newest telemetry
// frame that a record holds, in ticks from the start of the run.
func latest(t *testing.T, rec *runlog.Record) (sample, frame int64) {
	require.NoError(t, rec.Samples(func(s *runlog.Sample) bool { sample = s.Ticks; return true }))
	var clock tick.Extender
	var telemetry protocol.Telemetry
	first := int64(-1)
	require.NoError(t, rec.Messages(func(m runlog.Message) bool {
		if m.Bytes[0] == protocol.TelemetryID {
			require.NoError(t, telemetry.Parse(m.Bytes))
			frame = clock.Extend(telemetry.Ticks)
			if first < 0 {
				first = frame
			}
		}
		return true
	}))
	return sample, frame - first
}

// longest is what may be missing, in ticks: 100 ms.
const longest = board.TickHz / 10

// readable checks a record whose run had reached the given moment.
func readable(t *testing.T, dir string, reached int64) *runlog.Record {
	rec, err := runlog.Open(dir)
	require.NoError(t, err)
	sample, frame := latest(t, rec)
	require.LessOrEqual(t, reached-sample, int64(longest), "samples end too early")
	require.LessOrEqual(t, reached-frame, int64(longest), "wire ends too early")
	report, err := replay.Run(context.Background(), rec)
	require.NoError(t, err)
	require.Nil(t, report.Difference, "what is there replays")
	require.True(t, report.Cut)
	return rec
}

// frames is about how many samples the helper's run has.
const frames = 5_500

// At seeded moments the process is killed. Every record opens, at most the last
// 100 ms is missing, and a run made later beside them is whole.
func TestKilledRunsAreKept(t *testing.T) {
	dir := t.TempDir()
	random := rand.New(rand.NewPCG(6, 1))
	for i := range kills {
		path := filepath.Join(dir, fmt.Sprintf("run-%d", i))
		at := 1 + random.IntN(frames)
		_, reached, err := run(t, path, helperKill+"="+strconv.Itoa(at))
		require.ErrorContains(t, err, "killed")
		rec := readable(t, path, reached)
		require.Equal(t, runlog.CutOff, rec.Reason())
	}
	out, _, err := run(t, filepath.Join(dir, "later"))
	require.NoError(t, err)
	require.Equal(t, "pass\n", out)
	rec, err := runlog.Open(filepath.Join(dir, "later"))
	require.NoError(t, err)
	report, err := replay.Run(context.Background(), rec)
	require.NoError(t, err)
	require.True(t, report.Same())
	require.Positive(t, report.Measures)
}

// At seeded sizes the disk takes no more. The run goes on to its end, the board
// is stopped, the result warns, and the record tells where it ends and why.
func TestFullDiskEndsTheRecordNotTheRun(t *testing.T) {
	dir := t.TempDir()
	random := rand.New(rand.NewPCG(6, 2))
	for i := range fulls {
		path := filepath.Join(dir, fmt.Sprintf("run-%d", i))
		size := 10_000 + random.IntN(200_000)
		environment := []string{helperFull + "=" + strconv.Itoa(size)}
		if i%4 == 0 {
			environment = append(environment, helperReal+"=1")
		}
		out, _, err := run(t, path, environment...)
		require.NoError(t, err)
		require.Contains(t, out, "pass\n")
		require.Contains(t, out, "file too large")
		rec, err := runlog.Open(path)
		require.NoError(t, err)
		require.Equal(t, runlog.Complete, rec.Reason())
		require.Contains(t, rec.End.Short, "file too large")
		require.Equal(t, measure.Pass, rec.End.Outcome)
		require.NoFileExists(t, filepath.Join(path, "spare"))
		if i%4 != 0 { // in lockstep; else the virtual board is far ahead of the disk
			readable(t, path, rec.End.Ticks)
		}
		result, err := rec.Result()
		require.NoError(t, err)
		require.Contains(t, result.Warnings[0], "the record in")
	}
}
