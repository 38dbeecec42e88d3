package replay

import (
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/protocol/frame"
	"govrig/rig/execution"
	"govrig/rig/procedure"
	"govrig/rig/procedure/hold"
	"govrig/rig/procedure/loadstep"
	"govrig/rig/record/altered/formone"
	"govrig/rig/runlog"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
	"govrig/sim/standin/emulator"
	"govrig/sim/standin/governor"
)

func medium(t testing.TB) *machine.Machine {
	text, err := os.ReadFile("../../../testdata/machines/medium-15cc.yaml")
	require.NoError(t, err)
	text = append(text, "  hold: 2 s\n"...) // of the load step: enough for this purpose
	m, err := machine.Parse("machine.yaml", text)
	require.NoError(t, err)
	return m
}

// virtual is a bench with the virtual board, and the folder of its record.
func virtual(t testing.TB) (*execution.Bench, string) {
	m := medium(t)
	g, err := governor.New(m.GovernorParams(board.TickHz), 0)
	require.NoError(t, err)
	b := &execution.Bench{Machine: m, Board: board.New(board.Options{Governor: g}), Where: "virtual", StandIn: g}
	return b, keep(t, b)
}

func keep(t testing.TB, b *execution.Bench) (dir string) {
	dir = filepath.Join(t.TempDir(), "run")
	b.Record = func(info runlog.Info) (*runlog.Writer, error) { return runlog.Create(dir, info) }
	return dir
}

// again replays the record in dir.
func again(t testing.TB, dir string) *Report {
	rec, err := runlog.Open(dir)
	require.NoError(t, err)
	r, err := Run(context.Background(), rec)
	require.NoError(t, err)
	return r
}

// same is what a replay by the same version must show.
func same(t testing.TB, r *Report) {
	require.Nil(t, r.Difference)
	require.Empty(t, r.Other)
	require.False(t, r.Cut)
	require.Positive(t, r.Measures)
	require.Positive(t, r.Frames)
}

// Every procedure there is replays in whole, to the same bytes and the same
// measures; a tuning has one turn of the gain in it. Under the race detector the
// long ones are stopped on the way.
func TestEveryProcedureReplays(t *testing.T) {
	require.NotEmpty(t, procedure.All)
	options := map[string]string{"tune": `{"Positions": 2}`}
	for _, p := range procedure.All {
		name := p.Name
		t.Run(name, func(t *testing.T) {
			b, dir := virtual(t)
			ctx, stop := context.WithCancel(context.Background())
			defer stop()
			frames := 0
			b.Progress = func(string, *runlog.Sample) {
				if frames++; frames == mostFrames {
					stop()
				}
			}
			_, err := procedure.All.Again(ctx, b, name, json.RawMessage(cmp.Or(options[name], "{}")))
			if frames < mostFrames {
				require.NoError(t, err)
			} else {
				require.ErrorIs(t, err, context.Canceled)
			}
			r := again(t, dir)
			same(t, r)
			require.GreaterOrEqual(t, r.Frames, int64(frames))
		})
	}
}

func TestEmulatedRunReplays(t *testing.T) {
	const notes = "../../../firmware-notes"
	harness, err := emulator.Build(filepath.Join(notes, "emulator"))
	require.NoError(t, err)
	m := medium(t)
	g, err := governor.New(m.GovernorParams(emulator.TickHz), 0)
	require.NoError(t, err)
	chip, err := emulator.Open(emulator.Options{
		Harness: harness, Firmware: filepath.Join(notes, "firmware", "firmware.hex"), Governor: g,
	})
	require.NoError(t, err)
	b := &execution.Bench{Machine: m, Board: chip, Where: "emulated", StandIn: g}
	dir := keep(t, b)
	_, err = (&loadstep.Options{}).Run(context.Background(), b)
	require.NoError(t, err)
	same(t, again(t, dir))
}

func TestStoppedRunsReplay(t *testing.T) {
	for _, after := range []int{1, 2, 500, 501, 4790, 6000} {
		b, dir := virtual(t)
		ctx, stop := context.WithCancel(context.Background())
		n := 0
		b.Progress = func(string, *runlog.Sample) {
			if n++; n == after {
				stop()
			}
		}
		_, err := (&loadstep.Options{}).Run(ctx, b)
		require.ErrorIs(t, err, context.Canceled)
		r := again(t, dir)
		same(t, r)
		require.GreaterOrEqual(t, r.Frames, int64(after))
	}
}

// uneven is a board that gives its bytes in odd portions, in between nothing,
// and in the end an error: the portions of a real port.
type uneven struct {
	io.ReadWriteCloser
	n, until int
	err      error
	waiting  []byte
}

func (u *uneven) Read(p []byte) (int, error) {
	u.n++
	switch {
	case u.n > u.until:
		return 0, u.err
	case u.n%7 == 0:
		return 0, nil
	case len(u.waiting) == 0:
		var buf [300]byte
		n, err := u.ReadWriteCloser.Read(buf[:])
		if err != nil {
			return 0, err
		}
		u.waiting = append(u.waiting, buf[:n]...)
	}
	n := copy(p, u.waiting[:min(len(u.waiting), 1+u.n%50)])
	u.waiting = u.waiting[n:]
	return n, nil
}

// A run in real time on a port that fails replays too: the host's clock, the
// portions and the failure come from the record.
func TestFailedRunReplays(t *testing.T) {
	for want, failure := range map[string]error{"gone": errors.New("gone"), "silent": os.ErrDeadlineExceeded} {
		b, dir := virtual(t)
		var host time.Duration
		b.Clock = func() time.Duration {
			host += 2*time.Millisecond + host%77777
			return host
		}
		b.Board = &uneven{ReadWriteCloser: b.Board, until: 9_000, err: failure}
		_, err := (&hold.Options{Time: 3600}).Run(context.Background(), b)
		require.ErrorContains(t, err, want)
		r := again(t, dir)
		same(t, r)
		require.Contains(t, strings.Join(r.Run.Result.Warnings, "\n"), want)
		require.Contains(t, strings.Join(r.Run.Result.Warnings, "\n"), "clock")
	}
}

// In real time the run goes on while a person thinks; the answers come from the
// record, each at its moment, and so does that nobody was there.
func TestAnswersComeFromTheRecord(t *testing.T) {
	for _, nobody := range []bool{false, true} {
		b, dir := virtual(t)
		var frames, host atomic.Int64
		b.Clock = func() time.Duration { return time.Duration(host.Add(2_000_000)) }
		b.Progress = func(string, *runlog.Sample) { frames.Add(1) }
		var asked []string
		b.Ask = func(ctx context.Context, q execution.Question) (string, error) {
			asked = append(asked, q.Key)
			for until := frames.Load() + 150; frames.Load() < until && ctx.Err() == nil; {
				runtime.Gosched()
			}
			if nobody {
				return "", execution.ErrNotAsked
			}
			return map[string]string{"turning": "hand", "turns": "3"}[q.Key], ctx.Err()
		}
		_, err := procedure.All.Again(context.Background(), b, "pickup", json.RawMessage(`{"Time":2}`))
		require.NoError(t, err)
		require.Equal(t, []string{"turning", "turns"}, asked)
		same(t, again(t, dir))
	}
}

// A run that was stopped while a question stood replays up to there.
func TestStopDuringAQuestionReplays(t *testing.T) {
	for _, real := range []bool{false, true} {
		b, dir := virtual(t)
		var host atomic.Int64
		if real {
			b.Clock = func() time.Duration { return time.Duration(host.Add(2_000_000)) }
		}
		ctx, stop := context.WithCancel(context.Background())
		b.Ask = func(ctx context.Context, q execution.Question) (string, error) {
			stop()
			return "", ctx.Err()
		}
		_, err := procedure.All.Again(ctx, b, "pickup", json.RawMessage(`{"Time":2}`))
		require.ErrorIs(t, err, context.Canceled)
		r := again(t, dir)
		require.Nil(t, r.Difference)
		require.Empty(t, r.Other)
		require.False(t, r.Cut)
	}
}

// A bench without a machine has a record that replays.
func TestRunWithoutMachineReplays(t *testing.T) {
	b, dir := virtual(t)
	b.Machine, b.StandIn, b.Board = nil, nil, board.New(board.Options{})
	_, err := procedure.All.Again(context.Background(), b, "selftest", json.RawMessage("{}"))
	require.NoError(t, err)
	same(t, again(t, dir))
	rec, err := runlog.Open(dir)
	require.NoError(t, err)
	run, m, err := Load(rec)
	require.NoError(t, err)
	require.Nil(t, m)
	require.Equal(t, "board", run.Subject)
}

// A board that was to play on for longer without the host is told so again.
func TestOtherFailsafeReplays(t *testing.T) {
	b, dir := virtual(t)
	b.Failsafe = 700 * time.Millisecond
	_, err := (&hold.Options{Time: 1}).Run(context.Background(), b)
	require.NoError(t, err)
	same(t, again(t, dir))
}

// recorded makes a short record and gives its folder.
func recorded(t testing.TB) string {
	b, dir := virtual(t)
	_, err := (&hold.Options{Time: 1}).Run(context.Background(), b)
	require.NoError(t, err)
	return dir
}

// older makes a short record of form 1, whose bytes are easily altered.
func older(t testing.TB) string {
	dir := recorded(t)
	require.NoError(t, formone.Rewrite(dir))
	return dir
}

// A record of form 1 replays.
func TestOlderFormReplays(t *testing.T) {
	r := again(t, older(t))
	same(t, r)
}

// alter rewrites the n-th drive in the record's wire.
func alter(t testing.TB, dir string, n int, change func(*protocol.Drive)) {
	path := filepath.Join(dir, "wire.bin")
	wire, err := os.ReadFile(path)
	require.NoError(t, err)
	for at, end := 0, 0; at < len(wire); at = end + 2 {
		end = at + 3 + int(wire[at+1]) + int(wire[at+2])<<8
		bytes := wire[at+3 : end]
		d, ok := decode(bytes).(*protocol.Drive)
		if wire[at] != '>' || !ok {
			continue
		}
		if n--; n == 0 {
			change(d)
			framed := frame.Append(nil, d.AppendTo(nil))
			require.Len(t, framed, len(bytes))
			copy(bytes, framed)
			binary.LittleEndian.PutUint16(wire[end:], frame.CRC(wire[at:end]))
		}
	}
	require.NoError(t, os.WriteFile(path, wire, 0o644))
}

func TestFirstDifferenceIsNamed(t *testing.T) {
	dir := older(t)
	was := uint16(0)
	alter(t, dir, 1234, func(d *protocol.Drive) { d.SelectTicks++; was = d.SelectTicks })
	alter(t, dir, 1300, func(d *protocol.Drive) { d.StickTicks++ })
	r := again(t, dir)
	require.NotNil(t, r.Difference)
	require.EqualValues(t, 1234, r.Difference.Frame)
	require.Greater(t, r.Difference.Message, int64(1234), "the messages of opening the board come before")
	require.Equal(t, "Drive: SelectTicks was "+decimal(was)+", now "+decimal(was-1), r.Difference.What)
}

func decimal(v uint16) string {
	b, _ := json.Marshal(v)
	return string(b)
}

// Another machine drives otherwise.
func TestChangedMachineIsSeen(t *testing.T) {
	dir := older(t)
	path := filepath.Join(dir, "machine.yaml")
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	changed := bytes.Replace(text, []byte("inertia: 0.36 kg·cm²"), []byte("inertia: 0.37 kg·cm²"), 1)
	require.NotEqual(t, text, changed)
	require.NoError(t, os.WriteFile(path, changed, 0o644))
	_, err = runlog.Open(dir)
	require.ErrorContains(t, err, "machine.yaml is not as it was when the run began")
	path = filepath.Join(dir, "run.json")
	info, err := os.ReadFile(path)
	require.NoError(t, err)
	sum := func(b []byte) []byte { return fmt.Appendf(nil, "%x", sha256.Sum256(b)) }
	require.NoError(t, os.WriteFile(path, bytes.Replace(info, sum(text), sum(changed), 1), 0o644))
	r := again(t, dir)
	require.NotNil(t, r.Difference)
	require.Contains(t, r.Difference.What, "Drive: ")
}

// A measure that is computed otherwise now is named.
func TestChangedMeasureIsSeen(t *testing.T) {
	dir := older(t)
	path := filepath.Join(dir, "result.json")
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	var result map[string]any
	require.NoError(t, json.Unmarshal(text, &result))
	measures := result["measures"].([]any)
	measures[0].(map[string]any)["value"] = 1.5
	text, err = json.Marshal(result)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, text, 0o644))
	r := again(t, dir)
	require.Nil(t, r.Difference)
	require.Len(t, r.Other, 1)
	require.Contains(t, r.Other[0], "was 1.5, now ")
}

// What is left of a run that was cut off replays as far as it goes.
func TestCutOffRunReplays(t *testing.T) {
	dir := older(t)
	wire, err := os.ReadFile(filepath.Join(dir, "wire.bin"))
	require.NoError(t, err)
	require.NoError(t, os.Remove(filepath.Join(dir, "end.json")))
	for _, left := range []int{len(wire) - 1, len(wire) / 2, len(wire)/2 + 1, len(wire)/2 + 40, 500} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, "wire.bin"), wire[:left], 0o644))
		r := again(t, dir)
		require.Nil(t, r.Difference)
		require.True(t, r.Cut)
		require.Positive(t, r.Frames)
	}
}

// A record that says it is whole and ends before the run of today does, or goes
// on after it, differs.
func TestOtherLengthIsADifference(t *testing.T) {
	dir := older(t)
	path := filepath.Join(dir, "wire.bin")
	wire, err := os.ReadFile(path)
	require.NoError(t, err)
	extra := []byte{'>', 1, 0, 0}
	extra = binary.LittleEndian.AppendUint16(extra, frame.CRC(extra))
	for want, other := range map[string][]byte{
		"the run of today goes on; the recorded one had ended":          wire[:len(wire)-1],
		"the run of today has ended; the recorded one wrote 00":         append(wire[:len(wire):len(wire)], extra...),
		"the run of today goes on; the recorded one had ended (halved)": wire[:len(wire)/2],
	} {
		require.NoError(t, os.WriteFile(path, other, 0o644))
		r := again(t, dir)
		require.NotNil(t, r.Difference)
		require.Equal(t, strings.TrimSuffix(want, " (halved)"), r.Difference.What)
		require.False(t, r.Same())
	}
}
