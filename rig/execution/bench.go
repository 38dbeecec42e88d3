// Package execution is how a bench test is run: on what bench, by what phases,
// with what questions to the person, and what is kept of it.
package execution

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
	"govrig/rig/runlog"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
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
	// GoesOn has a board in lockstep go on while the person is asked, as one in real
	// time does. Whoever sets it paces the run.
	GoesOn bool
	// StandIn is what takes the place of a real governor, where something does.
	// What the person would have to turn or switch on a real one, the procedure
	// does to this one, if it is a governor.Knob or a governor.Supply.
	StandIn governor.Unit
	// Recall, when set, takes the place of Ask: it gives the answer that came
	// at this moment of a recorded run, or ok false when none had come yet.
	Recall func(Question) (answer string, ok bool, err error)
}

// Tell says a sentence to the person, where somebody listens.
func (b *Bench) Tell(sentence string) {
	if b.Say != nil {
		b.Say(sentence)
	}
}

// virtual reports whether no hardware took part.
func virtual(id *protocol.Identity) bool {
	return id.Board == protocol.BoardVirtual || id.Marks&protocol.MarkEmulated != 0
}

// unfinished notes on the sheet that the procedure did not come to its end.
func unfinished(sheet *measure.Sheet, err error) {
	if errors.Is(err, context.Canceled) {
		sheet.Warn("stopped by you before the end")
	} else {
		sheet.Break("%v", err)
	}
}

// ending is how a run came to its end; one that was stopped by something else than
// the person says by what.
func ending(ctx context.Context, err error, r *Run) runlog.End {
	end := runlog.End{
		Reason: runlog.Complete, Outcome: r.Result.Outcome,
		Found: r.Found, Next: r.Next, Result: &r.Result, Loops: r.Loops, Gains: r.Gains, Views: r.Views,
	}
	switch {
	case errors.Is(err, context.Canceled):
		end.Reason = runlog.Stopped
		if why := context.Cause(ctx); why != nil && !errors.Is(why, context.Canceled) {
			end.Error = why.Error()
		}
	case err != nil:
		end.Reason, end.Error = runlog.Error, err.Error()
	}
	return end
}

func (b *Bench) record(p Plan, session *rig.Session) (*runlog.Writer, error) {
	if b.Record == nil {
		return nil, nil
	}
	options, err := json.Marshal(p.Options)
	if err != nil {
		return nil, fmt.Errorf("options of %s: %w", p.Name, err)
	}
	info := runlog.Info{
		Procedure: p.Name, Subject: p.Subject, Options: options, Speed: p.Setting.Name,
		Virtual: virtual(&session.Identity), Board: b.Where, Baud: session.Baud(), Slowed: b.Connection.Sentence(), Lockstep: b.Clock == nil,
		Identity: session.Identity, Settings: session.Settings,
		StepTicks: StepTicks, TickHz: session.Identity.TickHz,
	}
	if m := b.Machine; m != nil {
		info.Machine, info.MachineText, info.Cautions, info.Read = m.Name, m.Text, m.Cautions, b.read(p)
	}
	if _, ours := b.StandIn.(*governor.Governor); ours {
		info.StandIn = b.Machine.GovernorParams(float64(session.Identity.TickHz))
	}
	return b.Record(info)
}

// PutStandIn puts a virtual board with the stand-in governor on the bench.
func (b *Bench) PutStandIn() (err error) {
	if b.StandIn, err = governor.New(b.Machine.GovernorParams(board.TickHz), 0); err == nil {
		b.Board = board.New(board.Options{Governor: b.StandIn, Baud: b.Connection.Baud})
	}
	return err
}

// Settings are those of the board for the plan, or for the machine.
func (b *Bench) Settings(p Plan) rig.Settings {
	if p.Settings != nil {
		s := *p.Settings
		s.Baud = b.Connection.Baud
		return s
	}
	return rig.Settings{
		Baud:      b.Connection.Baud,
		Failsafe:  b.Failsafe,
		SafeStick: Seconds(float64(b.Machine.Servo.ClosedPulse)),
		PickupLow: b.Machine.Pickup.Active == machine.Low,
	}
}
