package replay

import (
	"errors"
	"fmt"
	"io/fs"
	"math"

	"govrig/rig/execution"
	"govrig/rig/phase"
	"govrig/rig/runlog"
	"govrig/rig/tick"
	"govrig/sim/machine"
)

// Load reads a record as the run that it was, to be drawn as text: its result as
// it was stored, and of its course the moments, the head speed and the phases, on
// true time where the board's clock error is known. Where the run was cut off
// there is no result. The machine is nil where the run had none.
func Load(rec *runlog.Record) (*execution.Run, *machine.Machine, error) {
	r, m, err := Outline(rec)
	if err != nil {
		return nil, nil, err
	}
	r.Course, err = course(rec, m)
	return r, m, err
}

// Outline is Load without the trace: it reads the small files only.
func Outline(rec *runlog.Record) (*execution.Run, *machine.Machine, error) {
	m, err := load(rec)
	if err != nil {
		return nil, nil, err
	}
	r := &execution.Run{Identity: rec.Info.Identity, Subject: rec.Info.Subject, Dir: rec.Dir}
	if m != nil {
		r.Setting, _ = m.Speed(rec.Info.Speed)
	}
	if rec.End != nil {
		r.Found, r.Next = rec.End.Found, rec.End.Next
		r.Loops, r.Gains, r.Views = loops(rec.End.Loops), rec.End.Gains, rec.End.Views
	}
	if r.Result, err = rec.Result(); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, nil, err
	}
	keyed(&r.Result, m)
	r.Result.Procedure, r.Result.Virtual = rec.Info.Procedure, rec.Info.Virtual
	return r, m, nil
}

// course reads the samples.
func course(rec *runlog.Record, m *machine.Machine) (c execution.Course, err error) {
	if c.Phases, err = Phases(rec, m); err != nil {
		return c, err
	}
	hz := float64(rec.Info.TickHz)
	err = rec.Heads(func(s *runlog.Sample) bool {
		c.Add(float64(s.Ticks)/hz, s.State.HeadSpeed*rpm, s.Phase)
		return true
	})
	if err != nil {
		return c, err
	}
	c.Correct(Fast(rec))
	if err := name(&c); err != nil {
		return c, fmt.Errorf("%s: %w", rec.Dir, err)
	}
	return c, nil
}

// mostPhases is more than any run has.
const mostPhases = 100_000

// name gives a name to phases whose orders were lost with a loss of power.
func name(t *execution.Course) error {
	for _, n := range t.Phase {
		if n < 0 || n > mostPhases {
			return fmt.Errorf("there is no phase %d", n)
		}
		for len(t.Phases) <= n {
			t.Phases = append(t.Phases, phase.Key{Kind: "phase", Number: len(t.Phases) + 1})
		}
	}
	return nil
}

const rpm = 60 / (2 * math.Pi) // from rad/s

// Fast is the share by which the board's clock was fast, or 0 where that is not
// known well enough.
func Fast(rec *runlog.Record) float64 {
	if rec.End == nil || rec.End.Clock == nil {
		return 0
	}
	return tick.Believed(rec.End.Clock.Fast, rec.End.Clock.Uncertainty)
}
