package execution

import (
	"context"
	"errors"

	"govrig/protocol"
	"govrig/rig"
	"govrig/rig/measure"
	"govrig/rig/runlog"
	"govrig/sim/machine"
)

// Run is what came of a procedure.
type Run struct {
	// Result is the document with every declared measure.
	Result measure.Result
	// Trace is the run over time, as far as the procedure has not forgotten it;
	// Course is the whole, as it is drawn.
	Trace  Trace
	Course Course
	// Identity is the board's answer to who it is.
	Identity protocol.Identity
	// Found says in plain sentences what was found and what it means.
	Found []string
	// Next says what to do next.
	Next []string
	// Subject is what was tested: "board", "pickup"; empty is the governor.
	Subject string
	// Loops are the frequency responses that were measured, Gains the positions of
	// the gain, as the record keeps them.
	Loops []runlog.Loop
	Gains []runlog.GainPosition
	// Views are the stretches that are worth a picture.
	Views []runlog.View
	// Setting is the wanted head speed that was run, where there was one.
	Setting machine.SpeedSetting
	// Read are the values of the machine file that the procedure read, by path.
	Read map[string]string
	// Dir is the run record's folder; empty when none was kept.
	Dir string
}

// Plan is a procedure made ready for one machine.
type Plan struct {
	Name     string
	Subject  string   // Run.Subject
	Options  any      // that the procedure was called with
	Reads    []string // what it reads of the machine file
	Setting  machine.SpeedSetting
	Settings *rig.Settings // of the board; nil is those for the machine
	Once     bool          // nothing that is void is played again: a person does it
	Quiet    bool          // it plays no pickup pulses
	Declared []measure.Declaration
	Body     func(*Test) error
}

// Run carries a plan out. The Run is never nil; when the error is not nil its
// result tells how far it came.
func (b *Bench) Run(ctx context.Context, p Plan) (*Run, error) {
	r := &Run{Setting: p.Setting, Subject: p.Subject}
	session, err := rig.Open(ctx, b.Board, b.Settings(p))
	if err != nil {
		sheet := measure.NewSheet(p.Name, true, p.Declared...)
		unfinished(sheet, err)
		r.Result = sheet.Result()
		return r, err
	}
	session.Clock = b.Clock
	r.Identity, r.Read = session.Identity, b.read(p)
	t := newTest(ctx, b, session, r, p)
	if slowed := b.Connection.Sentence(); slowed != "" {
		t.Sheet.Warn("%s", slowed)
	}
	if t.Record, err = b.record(p, session); err == nil {
		session.Keep(t.Record)
		err = p.Body(t)
	}
	if errors.Is(err, context.Canceled) {
		t.Record.Event(runlog.EventStop, nil)
	}
	err = errors.Join(err, session.Close())
	r.Course.Phases = r.Trace.Phases
	r.Course.Correct(BoardFast(session))
	if err != nil {
		unfinished(t.Sheet, err)
	}
	if short := t.Record.Err(); short != nil {
		t.Sheet.Warn("%v", short)
	}
	readHealth(t.Sheet, session, t.Health, p.Quiet)
	r.Result, r.Dir = t.Sheet.Result(), t.Record.Dir()
	end := ending(ctx, err, r)
	end.Clock = clockError(session)
	if lost := t.Record.Close(end); lost != nil && t.Record.Err() == nil {
		err = errors.Join(err, lost)
	}
	return r, err
}

func clockError(session *rig.Session) *runlog.ClockError {
	fast, uncertainty, ok := session.ClockError.Estimate()
	if !ok {
		return nil
	}
	return &runlog.ClockError{Fast: fast, Uncertainty: uncertainty}
}
