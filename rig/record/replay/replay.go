package replay

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"slices"
	"time"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/procedure"
	"govrig/rig/runlog"
	"govrig/sim/machine"
	"govrig/sim/standin/governor"
)

// Report is what came of a replay.
type Report struct {
	// Run is the run of today.
	Run *execution.Run
	// Frames is how many telemetry frames were played, Sent how many of the
	// host's messages were the same, byte for byte.
	Frames, Sent int64
	// Difference is the first place where host and record part; nil is none.
	Difference *Difference
	// Cut: the record ended before the run did, so the measures of today are
	// not those of the whole run.
	Cut bool
	// Measures is how many measures were compared with those stored, and Other
	// names those that differ.
	Measures int
	Other    []string
}

// Same reports whether nothing differs.
func (r *Report) Same() bool { return r.Difference == nil && len(r.Other) == 0 }

// Run runs a record again. The error is of the record or the machine file, or
// ctx's; a difference is none.
func Run(ctx context.Context, rec *runlog.Record) (*Report, error) {
	m, err := load(rec)
	if err != nil {
		return nil, err
	}
	inner, stop := context.WithCancel(ctx)
	defer stop()
	board, err := NewBoard(rec, stop)
	if err != nil {
		return nil, err
	}
	bench, err := bench(rec, m, board)
	if err != nil {
		return nil, errors.Join(err, board.Close())
	}
	run, err := procedure.Known.Again(inner, bench, rec.Info.Procedure, rec.Info.Options)
	if run == nil {
		return nil, errors.Join(err, board.Close())
	}
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	r := &Report{Run: run, Frames: board.telemetry, Sent: board.sent}
	whole := rec.End != nil && rec.End.Short == ""
	switch {
	case errors.As(err, &r.Difference):
	case errors.Is(err, ErrEnd) && !whole:
		r.Cut = true
	case errors.Is(err, ErrEnd):
		errors.As(board.differ("the run of today goes on; the recorded one had ended"), &r.Difference)
	case board.err == nil:
		errors.As(board.differ("the run of today has ended; the recorded one "+board.recorded()), &r.Difference)
	default:
		return r, r.compare(rec)
	}
	return r, nil
}

// load reads the recorded machine; nil is a run without one.
func load(rec *runlog.Record) (*machine.Machine, error) {
	text, err := rec.Machine()
	if err != nil || len(text) == 0 {
		return nil, err
	}
	m, err := machine.Parse("machine.yaml", text)
	if err != nil {
		return nil, fmt.Errorf("the recorded machine file: %w", err)
	}
	return m, nil
}

// bench is one whose board, clock and person are the record.
func bench(rec *runlog.Record, m *machine.Machine, board *Board) (*execution.Bench, error) {
	b := &execution.Bench{Machine: m, Board: board, Where: rec.Info.Board, Recall: board.Recall}
	b.Connection.Baud = rec.Info.Baud
	b.Failsafe = time.Duration(math.Round(float64(rec.Info.Settings.FailsafeTicks) / float64(rec.Info.TickHz) * 1e9))
	if !rec.Info.Lockstep {
		b.Clock = board.Clock
	}
	if rec.Info.StandIn != nil { // its lines lead nowhere
		p, err := standIn(rec, m)
		if err != nil {
			return nil, err
		}
		if b.StandIn, err = governor.New(p, 0); err != nil {
			return nil, err
		}
	}
	return b, nil
}

// standIn are the parameters of the recorded stand-in, which need not be that of the
// machine file; what an older record does not have of them is the file's.
func standIn(rec *runlog.Record, m *machine.Machine) (governor.Params, error) {
	p := m.GovernorParams(float64(rec.Info.TickHz))
	recorded, err := json.Marshal(rec.Info.StandIn)
	if err == nil {
		err = json.Unmarshal(recorded, &p)
	}
	return p, err
}

// compare compares the measures of today with those stored.
func (r *Report) compare(rec *runlog.Record) error {
	stored, err := rec.Result()
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	r.Measures = len(stored.Measures)
	for _, then := range stored.Measures {
		now := r.Run.Result.Find(then.Name)
		if now == nil {
			r.Other = append(r.Other, then.Name+": not measured any more")
		} else if what := differs(&then, now); what != "" {
			r.Other = append(r.Other, then.Name+": "+what)
		}
	}
	for _, now := range r.Run.Result.Measures {
		if stored.Find(now.Name) == nil {
			r.Other = append(r.Other, now.Name+": not measured then")
		}
	}
	if stored.Outcome != r.Run.Result.Outcome {
		r.Other = append(r.Other, fmt.Sprintf("outcome: was %s, now %s", stored.Outcome, r.Run.Result.Outcome))
	}
	return nil
}

// differs says how a measure differs, or nothing.
func differs(then, now *measure.Measure) string {
	switch {
	case (then.Value == nil) != (now.Value == nil), then.Value != nil && *then.Value != *now.Value:
		return fmt.Sprintf("was %s, now %s %s", value(then), value(now), then.Unit)
	case then.Outcome != now.Outcome:
		return fmt.Sprintf("was %s, now %s", then.Outcome, now.Outcome)
	case !slices.Equal(then.Warnings, now.Warnings):
		return fmt.Sprintf("warned %q, now %q", then.Warnings, now.Warnings)
	}
	return ""
}

func value(m *measure.Measure) string {
	if m.Value == nil {
		return "none"
	}
	return fmt.Sprint(*m.Value)
}
