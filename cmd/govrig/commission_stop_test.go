//go:build !race

package main

import (
	"bytes"
	"context"
	"io"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/commission"
	"govrig/rig/measure"
	"govrig/rig/procedure"
	"govrig/rig/runlog"
	"govrig/sim/machine"
	"govrig/sim/pickup/turned"
	"govrig/sim/standin/board"
	"govrig/sim/standin/governor"
)

// virtualBench is a bench with a virtual board, joined as each step wants it,
// and the person beside it.
type virtualBench struct {
	m        *machine.Machine
	step     string
	board    *board.Board
	governor *governor.Governor
	// The newest edges of the lines, and the newest stick pulse, ticks.
	pickup, stickRise, stickFall, stickWidth int64
}

func (v *virtualBench) switchOn() error {
	o := board.Options{Watch: v.watch}
	v.pickup, v.stickRise, v.stickFall = 0, 0, 0
	var err error
	switch v.step {
	case "selftest":
		o.Jumpers = []board.Jumper{{From: governor.Pickup, To: board.Probe}, {From: governor.Stick, To: board.Throttle}}
	case "pickup":
		low := v.m.Pickup.Active == machine.Low
		o.Turned, err = turned.New(v.m.PickupParams(), low, turned.Stretch{Time: 1}, turned.Stretch{Time: 1, Speed: 157})
	default:
		v.governor, err = governor.New(v.m.GovernorParams(board.TickHz), 0)
		o.Governor = v.governor
	}
	v.board = board.New(o)
	return err
}

func (v *virtualBench) watch(line governor.Line, tick int64, high bool) {
	switch {
	case line == governor.Pickup:
		v.pickup = tick
	case line == governor.Stick && high:
		v.stickRise = tick
	case line == governor.Stick:
		v.stickFall, v.stickWidth = tick, tick-v.stickRise
	}
}

// Read is the person's answer to the one question that is not answered
// beforehand: to switch the governor off and on.
func (v *virtualBench) Read(answer []byte) (int, error) {
	v.governor.Restart(1)
	return copy(answer, "yes\n"), nil
}

// quiet lets half a second pass on the board: from a failsafe time after the
// mishap on it has played no pickup pulse, and the stick, where it is played, is
// closed.
func (v *virtualBench) quiet(t *testing.T, since int64) {
	const failsafe = board.TickHz / 10
	var buffer [256]byte
	for end := v.board.Now() + board.TickHz/2; v.board.Now() < end; {
		if _, err := v.board.Read(buffer[:]); err != nil {
			require.ErrorIs(t, err, os.ErrDeadlineExceeded)
		}
	}
	require.LessOrEqual(t, v.pickup, since+failsafe+board.TickHz/100, "in %s", v.step)
	if v.stickFall > v.board.Now()-board.TickHz/10 {
		require.InDelta(t, float64(v.m.Servo.ClosedPulse), float64(v.stickWidth)/board.TickHz, 1e-6, "in %s", v.step)
	}
}

// mishap ends a commissioning after so many reads of the board.
type mishap struct {
	kind  string
	after int
	reads int
	when  int64 // tick of the board at the mishap
	bench *virtualBench
	stop  context.CancelFunc
}

// wire is the way to the board on which the mishap comes.
type wire struct{ *mishap }

func (w wire) Read(p []byte) (int, error) {
	w.reads++
	if w.reads == w.after {
		w.when = w.bench.board.Now()
	}
	switch hit := w.reads == w.after; {
	case hit && w.kind == "ctrl-c":
		w.stop()
	case hit && w.kind == "reset":
		w.bench.board, w.when = board.New(board.Options{Watch: w.bench.watch}), -board.TickHz
		w.bench.pickup, w.bench.stickFall = w.when, w.when
	case w.reads >= w.after && w.kind == "cut":
		return 0, io.EOF
	}
	return w.bench.board.Read(p)
}

func (w wire) Write(p []byte) (int, error) {
	if w.reads >= w.after && w.kind == "cut" {
		return 0, io.ErrClosedPipe
	}
	return w.bench.board.Write(p)
}

func (wire) Close() error { return nil }

// Wherever a commissioning is stopped, by Ctrl-C, by a cut link or by a board
// that starts anew, the board plays nothing any more a failsafe time later, the
// run that was under way is kept with how it ended, and the next one does not
// repeat what has passed.
func TestCommissionStoppedAnywhere(t *testing.T) {
	leaveOut := []string{"accept", "hold", "loadstep", "sweep"} // for time: the longest
	whole, _, _ := commissionedTo(t, t.TempDir(), &mishap{after: -1}, leaveOut)
	random := rand.New(rand.NewPCG(1, 5))
	kept := 0
	for i := range 9 {
		kind := []string{"ctrl-c", "cut", "reset"}[i%3]
		dir := t.TempDir()
		fault := &mishap{kind: kind, after: 1 + random.IntN(whole.reads)}
		t.Logf("%s at read %d of %d", kind, fault.after, whole.reads)
		_, said, err := commissionedTo(t, dir, fault, leaveOut)
		var exit *exitError
		require.ErrorAs(t, err, &exit, said)
		require.Equal(t, map[bool]int{true: exitStopped, false: exitNoBoard}[kind == "ctrl-c"], exit.code, "%v", err)
		require.Error(t, exit.err, "it says what happened")
		fault.bench.quiet(t, fault.when)
		stopped := stateIn(t, dir, fault.bench.m)
		kept += keptRun(t, dir, stopped, kind)

		_, said, err = commissionedTo(t, dir, &mishap{after: -1}, leaveOut)
		require.ErrorAs(t, err, &exit)
		require.NoError(t, exit.err, said)
		require.Equal(t, passed(stopped), strings.Count(said, "passed before"), said)
		require.Equal(t, 5, passed(stateIn(t, dir, fault.bench.m)), said)
	}
	require.Equal(t, 9, kept, "none of these moments lies before a record was begun")
}

// commissionedTo runs commission on a virtual board behind a wire with a mishap.
func commissionedTo(t *testing.T, dir string, fault *mishap, leaveOut []string) (*mishap, string, error) {
	m, err := machine.Load(mediumFile)
	require.NoError(t, err)
	fault.bench = &virtualBench{m: m}
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	fault.stop = stop
	var said bytes.Buffer
	o := benchOptions{records: dir, safe: true, answers: map[string]string{
		"selftest": "yes", "pickup": "yes", "turning": "1500",
	}}
	o.plugged = func() (io.ReadWriteCloser, string) {
		steps := stepLine.FindAllStringSubmatch(said.String(), -1)
		fault.bench.step = steps[len(steps)-1][1]
		require.NoError(t, fault.bench.switchOn())
		return wire{fault}, "bench"
	}
	err = commissionMachine(ctx, streams{in: fault.bench, out: &said, err: &said}, mediumFile, &o, false, leaveOut)
	return fault, said.String(), err
}

func stateIn(t *testing.T, dir string, m *machine.Machine) *commission.State {
	state, err := commission.Open(dir, m, false, procedure.All)
	require.NoError(t, err)
	return state
}

func passed(s *commission.State) (n int) {
	for i := range s.Steps {
		if s.Passed(i) {
			n++
		}
	}
	return n
}

// keptRun wants the newest record to be that of the run that was under way,
// with how it ended, and that step not to have passed. It gives the number of
// such records, 0 when the stop came before one was begun.
func keptRun(t *testing.T, dir string, s *commission.State, kind string) (found int) {
	records, unreadable, err := runlog.List(dir, func(*runlog.Summary) bool { return true })
	require.NoError(t, err)
	require.Empty(t, unreadable)
	want := map[bool]string{true: runlog.Stopped, false: runlog.Error}[kind == "ctrl-c"]
	for _, r := range records {
		if r.Reason() == runlog.Complete {
			continue
		}
		found++
		require.Equal(t, want, r.Reason())
		for _, step := range s.Steps {
			if step.Name == r.Info.Procedure {
				require.NotEqual(t, measure.Pass, step.Outcome)
			}
		}
	}
	require.LessOrEqual(t, found, 1)
	require.Equal(t, passed(s)+found, len(records))
	return found
}
