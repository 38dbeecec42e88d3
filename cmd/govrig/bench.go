package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"time"

	"github.com/spf13/cobra"

	"govrig/protocol"
	"govrig/protocol/harmless"
	"govrig/rig"
	"govrig/rig/execution"
	"govrig/rig/link"
	"govrig/rig/measure"
	"govrig/rig/runlog"
	"govrig/rig/show/live"
	"govrig/rig/show/report"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
	"govrig/sim/standin/bridge"
	"govrig/sim/standin/governor/model"
)

// benchOptions are the flags that every procedure shares.
type benchOptions struct {
	virtual bool
	port    string
	baud    int
	json    bool
	records string
	delay   time.Duration
	noInput bool
	safe    bool
	bridge  string // kind of wire of a virtual board
	// governor is a governor file that takes the stand-in's place.
	governor string
	answers  map[string]string
	wire     rig.Connection // as it was found for the run before
	live     bool
	page     *live.Page // where --live was given
	lines    *lines     // of the person
	asking   atomic.Bool
	// plugged, where set, gives a board in lockstep that takes a port's place.
	plugged func() (board io.ReadWriteCloser, where string)
}

// flags adds the flags of every execution.
func (o *benchOptions) flags(c *cobra.Command) {
	f := c.Flags()
	f.BoolVar(&o.virtual, "virtual", false, "run with a simulated governor and no hardware")
	f.StringVar(&o.port, "port", "", "serial port of the board, such as /dev/ttyACM0 or COM3 (default: found by itself)")
	f.StringVar(&o.bridge, "bridge", "", "with --virtual: put a kind of wire before the board: "+strings.Join(bridge.Names(), ", "))
	f.IntVar(&o.baud, "baud", 0, "speed of the port, 500000 or 250000 (default: the faster that loses nothing)")
	f.BoolVar(&o.json, "json", false, "print the result as one JSON document")
	f.StringVar(&o.records, "records", "runs", "folder for the run records; empty keeps none")
	f.DurationVar(&o.delay, "failsafe", 100*time.Millisecond, "how long the board plays on when the computer is silent, 10ms to 1s")
	f.BoolVar(&o.live, "live", false, "show the run on a page of this computer while it lasts")
	f.BoolVar(&o.noInput, "no-input", false, "never ask anything")
	f.StringToStringVar(&o.answers, "answer", nil, "answer a question beforehand, as key=answer")
	f.BoolVar(&o.safe, "engine-cannot-run", false, "confirm that no engine can run and nothing but the servo moves")
	c.MarkFlagsMutuallyExclusive("virtual", "port")
}

// perform loads the machine, briefs the person, opens the board, runs the
// procedure, and prints what came of it. Without a path there is no machine.
func perform(ctx context.Context, io streams, p *execution.Procedure, options execution.Options, path string, o *benchOptions) error {
	if err := options.Check(o.virtual); err != nil {
		return err
	}
	m, err := load(io, path)
	if err != nil {
		return err
	}
	if err := o.standIn(io, m); err != nil {
		return err
	}
	if err := o.recordsReady(); err != nil {
		return err
	}
	o.lines = newLines(io.in)
	p.Briefing.Write(io.err, o.virtual)
	if !o.virtual {
		if err := o.confirm(ctx, io); err != nil {
			return err
		}
	}
	ctx, unwatched, err := o.watched(ctx, io)
	if err != nil {
		return err
	}
	defer unwatched()
	bench, err := o.bench(ctx, io, p, options, m)
	if err != nil {
		return err
	}
	r, err := options.Run(ctx, bench)
	o.finished(r, err)
	if r == nil {
		return err
	}
	if printErr := o.print(io.out, m, r); printErr != nil {
		return printErr
	}
	return ended(r, err)
}

// recordsReady looks whether records can be kept, before anything plays.
func (o *benchOptions) recordsReady() error {
	if o.records == "" {
		return nil
	}
	return runlog.Writable(o.records)
}

// load loads a machine and shows what it gives cause to remark.
func load(io streams, path string) (*machine.Machine, error) {
	if path == "" {
		return nil, nil
	}
	m, err := machine.Load(path)
	if err != nil {
		return nil, err
	}
	for _, caution := range m.Cautions {
		fmt.Fprintf(io.err, "caution: %s\n", caution)
	}
	return m, nil
}

// standIn puts the governor of a file in the stand-in's place, where one was named.
func (o *benchOptions) standIn(io streams, m *machine.Machine) (err error) {
	switch {
	case o.governor == "":
		return nil
	case !o.virtual:
		return errors.New("--governor goes with --virtual only: on the bench the governor is itself")
	case m == nil:
		return errors.New("--governor: no governor takes part in this")
	}
	if m.Other, err = model.Load(o.governor); err == nil {
		fmt.Fprintf(io.err, "Simulated governor: %s, from %s.\n", m.Other.Name, o.governor)
	}
	return err
}

func (o *benchOptions) print(w io.Writer, m *machine.Machine, r *execution.Run) error {
	if o.json {
		return report.JSON(w, r.Result)
	}
	return report.Text(w, m, r)
}

// ended turns how a procedure ended into the exit of the command.
func ended(r *execution.Run, err error) error {
	switch {
	case errors.Is(err, context.Canceled):
		return &exitError{code: exitStopped, err: errors.New("stopped; the board has been told to play nothing")}
	case err != nil:
		return &exitError{code: exitNoBoard, err: err}
	}
	switch r.Result.Outcome {
	case measure.Pass:
		return nil
	case measure.Error:
		return &exitError{code: exitNoBoard}
	}
	return &exitError{code: exitFail}
}

// bench opens the board that the flags name, and shows it on the live page.
func (o *benchOptions) bench(ctx context.Context, io streams, p *execution.Procedure, options execution.Options, m *machine.Machine) (*execution.Bench, error) {
	b, err := o.dark(ctx, io, p, options, m)
	if err == nil {
		o.show(b)
	}
	return b, err
}

// dark is bench without the page.
func (o *benchOptions) dark(ctx context.Context, io streams, p *execution.Procedure, options execution.Options, m *machine.Machine) (*execution.Bench, error) {
	if o.baud != 0 && !slices.Contains(rig.Speeds[:], o.baud) {
		return nil, fmt.Errorf("--baud %d: the firmware's speeds are %d and %d", o.baud, protocol.BaudFast, protocol.BaudSlow)
	}
	b := &execution.Bench{Machine: m, Failsafe: o.delay, Progress: o.progress(io.err), Ask: o.ask(io.err)}
	b.Say = func(sentence string) { fmt.Fprintln(io.err, "  "+sentence) }
	if o.records != "" {
		b.Record = recorder(o.records, p.Name)
	}
	if o.virtual {
		b.Where, b.Connection.Baud = "virtual", o.baud
		return b, o.simulated(b, options)
	}
	if o.bridge != "" {
		return nil, errors.New("--bridge goes with --virtual only: a real board has its own")
	}
	if o.plugged != nil {
		b.Board, b.Where = o.plugged()
		return b, nil
	}
	port, err := o.open(ctx, io, b)
	if err != nil {
		return nil, &exitError{code: exitNoBoard, err: err}
	}
	b.Board, b.Clock = port, link.Clock()
	return b, nil
}

// simulated puts a virtual board on the bench, behind the wanted kind of wire.
func (o *benchOptions) simulated(b *execution.Bench, options execution.Options) error {
	if err := options.Simulate(b); err != nil || o.bridge == "" {
		return err
	}
	kind, err := bridge.Find(o.bridge)
	if err != nil {
		return fmt.Errorf("--bridge: %w", err)
	}
	b.Board.(*board.Board).Through(bridge.New(kind, 1))
	return nil
}

// open opens the port that was named, or finds the board, and settles its speed.
func (o *benchOptions) open(ctx context.Context, io streams, b *execution.Bench) (port *link.Port, err error) {
	baud := o.baud
	if baud == 0 {
		baud = o.wire.Baud
	}
	if o.port != "" {
		b.Where = o.port
		port, b.Connection, err = link.Connect(ctx, o.port, baud)
	} else {
		fmt.Fprintln(io.err, "Looking for the board; that takes up to nine seconds.")
		port, b.Where, b.Connection, err = link.Find(ctx, baud)
		if err != nil {
			return nil, fmt.Errorf("%w\n  name its port with --port, or run with --virtual and no hardware", err)
		}
		fmt.Fprintf(io.err, "Took the board on %s.\n", b.Where)
	}
	switch {
	case err != nil:
		return nil, err
	case o.wire.Baud != 0:
		b.Connection.Slowed = o.wire.Slowed
	case b.Connection.Baud == protocol.BaudSlow:
		fmt.Fprintln(io.err, slowed(&b.Connection, o.baud))
	}
	for _, remark := range b.Connection.Remarks() {
		fmt.Fprintln(io.err, remark)
	}
	o.wire = b.Connection
	return port, nil
}

// slowed says why the wire is slow.
func slowed(c *rig.Connection, asked int) string {
	switch sentence := c.Sentence(); {
	case sentence != "":
		return sentence
	case asked != 0:
		return fmt.Sprintf("The wire to the board is at %d baud, as you said.", c.Baud)
	}
	return fmt.Sprintf("The wire to the board is at %d baud, as last time; --baud %d tries full speed again.", c.Baud, protocol.BaudFast)
}

// recorder makes records in folders named by time and execution.
func recorder(dir, name string) func(runlog.Info) (*runlog.Writer, error) {
	return func(info runlog.Info) (*runlog.Writer, error) {
		now := time.Now()
		info.Started, info.Tool = now.Format("2006-01-02T15:04:05.000Z07:00"), version()
		base := filepath.Join(dir, now.Format("2006-01-02-150405")+"-"+name)
		for n := 2; ; n++ {
			w, err := runlog.Create(base, info)
			if !errors.Is(err, os.ErrExist) || n == 100 {
				return w, err
			}
			base = fmt.Sprintf("%s-%d", strings.TrimRight(base, "-0123456789"), n)
		}
	}
}

// longestQuiet is how long, in ticks, a phase may last without a further line.
const longestQuiet = 10 * board.TickHz

// progress tells of each phase as it begins, on a line of its own, and of a long
// one that it goes on; phases of the same name in a row count as one. It keeps quiet while a question waits
// for its answer.
func (o *benchOptions) progress(w io.Writer) func(string, *runlog.Sample) {
	last, told := "", int64(0)
	return func(phase string, s *runlog.Sample) {
		if phase == last && s.Ticks-told < longestQuiet {
			return
		}
		last, told = phase, s.Ticks
		if o.asking.Load() {
			return
		}
		line := fmt.Sprintf("%6.1f s  %-9s", float64(s.Ticks)/board.TickHz, phase)
		if s.State.HeadSpeed != 0 {
			line += fmt.Sprintf("  head %4.0f rpm", s.State.HeadSpeed*60/6.283185307179586)
		}
		fmt.Fprintln(w, strings.TrimRight(line, " "))
	}
}

// confirm asks, before a real port is opened, that all is as the briefing
// says.
func (o *benchOptions) confirm(ctx context.Context, io streams) error {
	if o.safe {
		return nil
	}
	fmt.Fprintln(io.err, "Follow the makers' manuals and your local rules where they say more.")
	if o.noInput {
		return errors.New("with --no-input, say --engine-cannot-run when all of this is so")
	}
	q := execution.Question{Text: "Is all of this so, and is it impossible for the engine to start?", Answers: []string{"yes", "no"}}
	if answer, err := o.typed(ctx, io.err, q); err != nil || answer != "yes" {
		return &exitError{code: exitStopped, err: errors.New("not started")}
	}
	return nil
}

// ask puts a procedure's questions to the person, or takes the answers given
// beforehand.
func (o *benchOptions) ask(w io.Writer) func(context.Context, execution.Question) (string, error) {
	ask := o.askHere(w)
	if o.page != nil && !o.noInput {
		ask = o.page.Ask(ask)
	}
	return ask
}

// askHere asks at the terminal only.
func (o *benchOptions) askHere(w io.Writer) func(context.Context, execution.Question) (string, error) {
	return func(ctx context.Context, q execution.Question) (string, error) {
		if given, ok := o.answers[q.Key]; ok {
			if answer, ok := q.Meant(given); ok {
				return answer, nil
			}
			return "", fmt.Errorf("--answer %s=%s is no answer to that; there are: %s", q.Key, given, strings.Join(q.Answers, ", "))
		}
		if o.noInput || o.virtual {
			return "", execution.ErrNotAsked
		}
		return o.typed(ctx, w, q)
	}
}

// typed asks until what is typed is an answer.
func (o *benchOptions) typed(ctx context.Context, w io.Writer, q execution.Question) (string, error) {
	for {
		fmt.Fprintf(w, "%s%s: ", q.Text, choices(q))
		o.asking.Store(true)
		line, err := o.lines.next(ctx)
		o.asking.Store(false)
		if ctx.Err() != nil {
			fmt.Fprintln(w)
			return "", ctx.Err()
		}
		if answer, ok := q.Meant(line); ok {
			return answer, nil
		}
		if err != nil {
			return "", execution.ErrNotAsked
		}
		if strings.TrimSpace(line) != "" {
			fmt.Fprintf(w, "%q is none of the answers.\n", harmless.Line(strings.TrimSpace(line)))
		}
	}
}

// choices shows what can be typed.
func choices(q execution.Question) (text string) {
	if len(q.Answers) > 0 {
		text = " " + q.Choices()
	}
	if q.Default != "" {
		text += " (Enter is " + q.Default + ")"
	}
	return text
}
