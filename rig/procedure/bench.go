// Package procedure holds the bench tests. Each declares its measures and
// their limits before it starts, plays a script through the rig, and reads its
// measures from what came back.
package procedure

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"time"

	"govrig/protocol"
	"govrig/rig"
	"govrig/rig/measure"
	"govrig/rig/runlog"
	"govrig/sim/heli"
	"govrig/sim/machine"
)

// Bench is what a procedure runs on.
type Bench struct {
	// Machine is the machine to be simulated, with the facts about the
	// governor and the limits it must meet.
	Machine *machine.Machine
	// Board is the way to the board. The procedure closes it.
	Board io.ReadWriteCloser
	// Where names the board: "virtual", "emulated", or the port.
	Where string
	// Clock tells the host's time on a board that runs in real time; nil on
	// one that runs in lockstep.
	Clock func() time.Duration
	// Record makes the run record; nil keeps none.
	Record func(runlog.Info) (*runlog.Writer, error)
	// Progress, when set, is shown the samples as they come.
	Progress func(phase string, s *runlog.Sample)
}

// Run is what came of a procedure.
type Run struct {
	// Result is the document with every declared measure.
	Result measure.Result
	// Trace is the run over time.
	Trace Trace
	// Identity is the board's answer to who it is.
	Identity protocol.Identity
	// Setting is the wanted head speed that was run.
	Setting machine.SpeedSetting
	// Dir is the run record's folder; empty when none was kept.
	Dir string
}

// Trace is a run as columns, one value a telemetry frame. Times are s from the
// start, speeds rpm.
type Trace struct {
	Time, Speed, Head, Throttle, Collective []float64
	Phase                                   []int
	Phases                                  []string
}

// plan is a procedure made ready for one machine.
type plan struct {
	name     string
	setting  machine.SpeedSetting
	script   rig.Script
	declared []measure.Declaration
	read     func(*measure.Sheet, *Trace)
}

// stepTicks is the length of a plant step in board ticks: 250 µs at 16 MHz.
const stepTicks = 4_000

const (
	rpm     = 60 / (2 * math.Pi) // from rad/s
	degrees = 180 / math.Pi      // from rad
)

// ErrUnsettled is a governor that never held a steady speed.
var ErrUnsettled = errors.New("procedure: the engine never became steady")

// run plays a plan. The Run is never nil; when the error is not nil its result
// tells how far it came.
func (b *Bench) run(ctx context.Context, p plan) (*Run, error) {
	r := &Run{Setting: p.setting}
	for _, phase := range p.script.Phases {
		r.Trace.Phases = append(r.Trace.Phases, phase.Name)
	}
	session, err := rig.Open(ctx, b.Board, b.settings())
	if err != nil {
		r.Result = b.broken(p, true, err)
		return r, err
	}
	r.Identity = session.Identity
	session.Clock = b.Clock
	loop := rig.NewLoop(b.setup(&session.Identity), p.script)
	record, err := b.record(p, session)
	if err == nil {
		err = session.Run(ctx, loop, record, func(s *runlog.Sample) {
			r.Trace.add(s, float64(session.Identity.TickHz))
			if b.Progress != nil {
				b.Progress(r.Trace.Phases[s.Phase], s)
			}
		})
	}
	err = errors.Join(err, session.Close())
	r.Result = b.result(p, r, session, loop, err)
	r.Dir = record.Dir()
	return r, errors.Join(err, record.Close(ending(err, r.Result)))
}

// virtual tells whether no hardware took part.
func virtual(id *protocol.Identity) bool {
	return id.Board == protocol.BoardVirtual || id.Marks&protocol.MarkEmulated != 0
}

// result reads the measures, or says why there are none.
func (b *Bench) result(p plan, r *Run, session *rig.Session, loop *rig.Loop, err error) measure.Result {
	if err != nil {
		return b.broken(p, virtual(&session.Identity), err)
	}
	sheet := measure.NewSheet(p.name, virtual(&session.Identity), append(p.declared, healthMeasures...)...)
	if name := loop.Unsettled(); name != "" {
		why := fmt.Sprintf("the engine did not become steady in the phase %q", name)
		for _, d := range p.declared {
			sheet.NotRun(d.Name, why)
		}
		sheet.Warn("%s: does the governor arm, and is its pickup polarity right?", why)
	} else {
		r.Trace.calibrate(session)
		p.read(sheet, &r.Trace)
	}
	readHealth(sheet, session, loop.Health())
	return sheet.Result()
}

// broken is the result of a run that did not come to its end.
func (b *Bench) broken(p plan, virtual bool, err error) measure.Result {
	sheet := measure.NewSheet(p.name, virtual, append(p.declared, healthMeasures...)...)
	if errors.Is(err, context.Canceled) {
		sheet.Warn("stopped by the person before the end")
	} else {
		sheet.Break("%v", err)
	}
	return sheet.Result()
}

func ending(err error, result measure.Result) runlog.End {
	switch {
	case err == nil:
		return runlog.End{Reason: "complete", Result: result}
	case errors.Is(err, context.Canceled):
		return runlog.End{Reason: "stopped", Result: result}
	}
	return runlog.End{Reason: "error", Error: err.Error(), Result: result}
}

func (b *Bench) record(p plan, session *rig.Session) (*runlog.Writer, error) {
	if b.Record == nil {
		return nil, nil
	}
	info := runlog.Info{
		Procedure: p.name, Virtual: virtual(&session.Identity), Board: b.Where,
		Identity: session.Identity, Settings: session.Settings,
		StepTicks: stepTicks, TickHz: session.Identity.TickHz,
		Speed: p.setting.Name, Machine: b.Machine.Text,
	}
	for _, phase := range p.script.Phases {
		info.Phases = append(info.Phases, phase.Name)
	}
	return b.Record(info)
}

// settings are those of the board for this machine.
func (b *Bench) settings() rig.Settings {
	return rig.Settings{
		SafeStick: seconds(float64(b.Machine.Servo.ClosedPulse)),
		PickupLow: b.Machine.Pickup.Active == machine.Low,
	}
}

// setup is the simulated machine, idling.
func (b *Bench) setup(id *protocol.Identity) rig.Setup {
	step := float64(stepTicks) / float64(id.TickHz)
	return rig.Setup{
		Plant:     heli.New(b.Machine.HeliParams(), step),
		StepTicks: stepTicks,
		TickRate:  float64(id.TickHz),
		Magnets:   b.Machine.Governor.PulsesPerTurn,
	}
}

func seconds(s float64) time.Duration { return time.Duration(math.Round(s * 1e9)) }

// steps is a time as a number of plant steps on a board of 16 MHz.
func steps(s float64) int64 { return int64(math.Round(s * 16e6 / stepTicks)) }
