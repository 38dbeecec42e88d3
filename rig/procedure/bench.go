// Package procedure holds the bench tests. Each declares its measures and
// their limits before it starts, plays its phases through the rig, and reads
// its measures from what came back.
package procedure

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"

	"govrig/protocol"
	"govrig/rig"
	"govrig/rig/measure"
	"govrig/rig/record/runlog"
	"govrig/sim/machine"
	"govrig/sim/standin/governor"
)

// Bench is what a procedure runs on.
type Bench struct {
	// Machine is the machine to be simulated, with the facts about the
	// governor and the limits it must meet. Nil will do for a procedure that
	// needs none.
	Machine *machine.Machine
	// Board is the way to the board. The procedure closes it.
	Board io.ReadWriteCloser
	// Where names the board: "virtual", "emulated", or the port.
	Where string
	// Connection is how the board was connected, when that was tried; else the
	// wire is taken to be at full speed.
	Connection rig.Connection
	// Clock tells the host's time on a board that runs in real time; nil on
	// one that runs in lockstep.
	Clock func() time.Duration
	// Failsafe is how long the board plays on without the host; 0 is the
	// rig's usual 100 ms.
	Failsafe time.Duration
	// Record makes the run record; nil keeps none.
	Record func(runlog.Info) (*runlog.Writer, error)
	// Progress, when set, is shown the samples as they come.
	Progress func(phase string, s *runlog.Sample)
	// Say, when set, is told what a procedure has found so far, one plain
	// sentence at a time.
	Say func(sentence string)
	// Ask puts a question to the person. Nil, or ErrNotAsked from it, is nobody
	// there to ask: the procedure goes by the question's default, or leaves out
	// what hangs on the answer.
	Ask func(context.Context, Question) (string, error)
	// StandIn is the stand-in governor where one is on the board's lines. Where
	// the person would have to turn or switch something on a real governor, the
	// procedure does it to this one.
	StandIn *governor.Governor
	// Recall, when set, takes the place of Ask: it gives the answer that came
	// at this moment of a recorded run, or ok false when none had come yet.
	Recall func(Question) (answer string, ok bool, err error)
}

// Question is something that only the person can tell or do.
type Question struct {
	// Key names the question for an answer given beforehand.
	Key string
	// Text is the question, in one or two plain sentences.
	Text string
	// Answers are the words that will do; none is any text.
	Answers []string
	// Default is taken when nobody is there; empty is no answer.
	Default string
}

// ErrNotAsked is a question that nobody was there to answer.
var ErrNotAsked = errors.New("procedure: nobody is there to answer")

// Briefing is what the person is told before a procedure starts.
type Briefing struct {
	// Purpose is what it finds out, in one sentence.
	Purpose string
	// Connect says which line goes where.
	Connect []string
	// Moves says what will move.
	Moves []string
	// Hurts says what could hurt.
	Hurts []string
}

// Run is what came of a procedure.
type Run struct {
	// Result is the document with every declared measure.
	Result measure.Result
	// Trace is the run over time.
	Trace Trace
	// Identity is the board's answer to who it is.
	Identity protocol.Identity
	// Found says in plain sentences what was found and what it means.
	Found []string
	// Next says what to do next.
	Next []string
	// Subject is what was tested: "board", "pickup"; empty is the governor.
	Subject string
	// Sweep holds the points that sweep measured.
	Sweep []SweepPoint
	// Tune holds the positions of the gain that tune measured.
	Tune []TunePoint
	// Setting is the wanted head speed that was run, where there was one.
	Setting machine.SpeedSetting
	// Dir is the run record's folder; empty when none was kept.
	Dir string
}

// plan is a procedure made ready for one machine.
type plan struct {
	name     string
	subject  string // Run.Subject
	options  any    // that the procedure was called with
	setting  machine.SpeedSetting
	settings *rig.Settings // of the board; nil is those for the machine
	quiet    bool          // it plays no pickup pulses
	declared []measure.Declaration
	body     func(*test) error
}

// run carries a plan out. The Run is never nil; when the error is not nil its
// result tells how far it came.
func (b *Bench) run(ctx context.Context, p plan) (*Run, error) {
	r := &Run{Setting: p.setting, Subject: p.subject}
	session, err := rig.Open(ctx, b.Board, b.settings(p))
	if err != nil {
		sheet := measure.NewSheet(p.name, true, p.declared...)
		unfinished(sheet, err)
		r.Result = sheet.Result()
		return r, err
	}
	session.Clock = b.Clock
	r.Identity = session.Identity
	t := newTest(ctx, b, session, r, p)
	if slowed := b.Connection.Sentence(); slowed != "" {
		t.sheet.Warn("%s", slowed)
	}
	if t.record, err = b.record(p, session); err == nil {
		session.Keep(t.record)
		err = p.body(t)
	}
	if errors.Is(err, context.Canceled) {
		t.record.Event(runlog.EventStop, nil)
	}
	err = errors.Join(err, session.Close())
	if err != nil {
		unfinished(t.sheet, err)
	}
	if short := t.record.Err(); short != nil {
		t.sheet.Warn("%v", short)
	}
	readHealth(t.sheet, session, t.health, p.quiet)
	r.Result, r.Dir = t.sheet.Result(), t.record.Dir()
	end := ending(err, r)
	end.Clock = clockError(session)
	if lost := t.record.Close(end); lost != nil && t.record.Err() == nil {
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

// virtual tells whether no hardware took part.
func virtual(id *protocol.Identity) bool {
	return id.Board == protocol.BoardVirtual || id.Marks&protocol.MarkEmulated != 0
}

// unfinished notes on the sheet that the procedure did not come to its end.
func unfinished(sheet *measure.Sheet, err error) {
	if errors.Is(err, context.Canceled) {
		sheet.Warn("stopped by the person before the end")
	} else {
		sheet.Break("%v", err)
	}
}

func ending(err error, r *Run) runlog.End {
	end := runlog.End{
		Reason: runlog.Complete, Outcome: r.Result.Outcome,
		Found: r.Found, Next: r.Next, Result: &r.Result, Loops: keptLoops(r.Sweep), Gains: keptGains(r.Tune),
	}
	switch {
	case errors.Is(err, context.Canceled):
		end.Reason = runlog.Stopped
	case err != nil:
		end.Reason, end.Error = runlog.Error, err.Error()
	}
	return end
}

func (b *Bench) record(p plan, session *rig.Session) (*runlog.Writer, error) {
	if b.Record == nil {
		return nil, nil
	}
	options, err := json.Marshal(p.options)
	if err != nil {
		return nil, fmt.Errorf("procedure: options of %s: %w", p.name, err)
	}
	info := runlog.Info{
		Procedure: p.name, Subject: p.subject, Options: options, Speed: p.setting.Name,
		Virtual: virtual(&session.Identity), Board: b.Where, Baud: session.Baud(), Slowed: b.Connection.Sentence(), Lockstep: b.Clock == nil,
		Identity: session.Identity, Settings: session.Settings,
		StepTicks: stepTicks, TickHz: session.Identity.TickHz,
	}
	if m := b.Machine; m != nil {
		info.Machine, info.MachineText, info.Cautions = m.Name, m.Text, m.Cautions
	}
	if b.StandIn != nil {
		info.StandIn = b.Machine.GovernorParams(float64(session.Identity.TickHz))
	}
	return b.Record(info)
}

// settings are those of the board for the plan, or for the machine.
func (b *Bench) settings(p plan) rig.Settings {
	if p.settings != nil {
		s := *p.settings
		s.Baud = b.Connection.Baud
		return s
	}
	return rig.Settings{
		Baud:      b.Connection.Baud,
		Failsafe:  b.Failsafe,
		SafeStick: seconds(float64(b.Machine.Servo.ClosedPulse)),
		PickupLow: b.Machine.Pickup.Active == machine.Low,
	}
}
