package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"govrig/rig/commission"
	"govrig/rig/measure"
	"govrig/rig/procedure"
	"govrig/sim/machine"
)

// commissionStep is one procedure on the way to a verdict.
type commissionStep struct {
	name     string
	brief    procedure.Briefing
	wires    bool // other wires than the governor's have to be joined for it
	optional bool
	simulate func(*procedure.Bench) error
	run      act
}

// commissionSteps are the steps in order. A step that only follows from what an
// earlier one found is optional.
func commissionSteps(virtual bool) []commissionStep {
	all := procedure.AllSpeeds
	return []commissionStep{
		{name: "selftest", brief: procedure.SelfTestBriefing, wires: true, simulate: jumpers,
			run: func(ctx context.Context, b *procedure.Bench) (*procedure.Run, error) {
				return procedure.SelfTest(ctx, b, procedure.SelfTestOptions{})
			}},
		pickupStep(virtual),
		{name: "accept", brief: procedure.AcceptBriefing, simulate: standIn,
			run: func(ctx context.Context, b *procedure.Bench) (*procedure.Run, error) {
				return procedure.Accept(ctx, b, procedure.AcceptOptions{})
			}},
		{name: "throttle", brief: procedure.ThrottleBriefing, simulate: standIn,
			run: func(ctx context.Context, b *procedure.Bench) (*procedure.Run, error) {
				return procedure.Throttle(ctx, b, procedure.ThrottleOptions{})
			}},
		{name: "hold", brief: procedure.HoldBriefing, simulate: standIn,
			run: func(ctx context.Context, b *procedure.Bench) (*procedure.Run, error) {
				return procedure.Hold(ctx, b, procedure.HoldOptions{Speed: all, Time: 10})
			}},
		{name: "spoolup", brief: procedure.SpoolUpBriefing, simulate: standIn,
			run: func(ctx context.Context, b *procedure.Bench) (*procedure.Run, error) {
				return procedure.SpoolUp(ctx, b, procedure.SpoolUpOptions{})
			}},
		{name: "loadstep", brief: procedure.LoadStepBriefing, simulate: standIn,
			run: func(ctx context.Context, b *procedure.Bench) (*procedure.Run, error) {
				return procedure.LoadStep(ctx, b, procedure.LoadStepOptions{Speed: all})
			}},
		{name: "sweep", brief: procedure.SweepBriefing, simulate: standIn,
			run: func(ctx context.Context, b *procedure.Bench) (*procedure.Run, error) {
				return new(procedure.Sweep).Measure(ctx, b, procedure.SweepOptions{Speed: all})
			}},
		{name: "tune", brief: procedure.TuneBriefing, optional: true, simulate: standIn,
			run: func(ctx context.Context, b *procedure.Bench) (*procedure.Run, error) {
				return procedure.Tune(ctx, b, procedure.TuneOptions{})
			}},
		{name: "faults", brief: procedure.FaultsBriefing, simulate: standIn,
			run: func(ctx context.Context, b *procedure.Bench) (*procedure.Run, error) {
				return procedure.Faults(ctx, b, procedure.FaultsOptions{})
			}},
	}
}

// pickupStep has the shaft turned: by the person, or in a virtual run at a speed
// that is known.
func pickupStep(virtual bool) commissionStep {
	o := pickupOptions{time: 30 * time.Second}
	o.virtual = virtual
	p, err := o.procedure()
	return commissionStep{
		name: "pickup", brief: procedure.PickupBriefing, wires: true,
		simulate: func(b *procedure.Bench) error { return errors.Join(err, o.turn(b, p.Turning)) },
		run: func(ctx context.Context, b *procedure.Bench) (*procedure.Run, error) {
			return new(procedure.Pickup).Measure(ctx, b, p)
		},
	}
}

func newCommissionCommand(io streams) *cobra.Command {
	var o benchOptions
	var again bool
	var leaveOut []string
	c := &cobra.Command{
		Use:   "commission MACHINE",
		Short: "Go through every bench test in order, to a go or no-go for the first start",
		Long: `Takes a machine and its governor from the first wire to a verdict: self-test of the
board, the pickup, what the governor's pickup input takes, the throttle, the speed
settings, the spool-up, load steps, margins, and what it does when something
fails. What has passed is kept; started again, it goes on where it stopped.
A virtual run never ends in go.`,
		Example: "  govrig commission trainer.yaml --virtual\n  govrig commission trainer.yaml --port /dev/ttyACM0",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return commissionMachine(c.Context(), io, args[0], &o, again, leaveOut)
		},
	}
	o.flags(c)
	c.Flags().MarkHidden("speed")
	c.Flags().BoolVar(&again, "again", false, "do the steps again that have passed already")
	c.Flags().StringSliceVar(&leaveOut, "leave-out", nil, "steps to leave out")
	return c
}

func commissionMachine(ctx context.Context, io streams, path string, o *benchOptions, again bool, leaveOut []string) error {
	m, err := load(io, path)
	if err != nil {
		return err
	}
	if o.records == "" {
		return errors.New("commission keeps what has passed in the folder of the run records: --records cannot be empty")
	}
	o.lines = newLines(io.in)
	steps := commissionSteps(o.virtual)
	state, err := commission.Open(o.records, m.Name, m.Text, o.virtual, plain(steps))
	if err != nil {
		return err
	}
	ctx, unwatched, err := o.watched(ctx, io)
	if err != nil {
		return err
	}
	defer unwatched()
	fmt.Fprintf(io.err, "%s: %d steps. Ctrl-C stops at any time: what has passed is kept, and commission goes on from there.\n", m.Name, len(steps))
	w := walk{io: io, m: m, o: o, state: state, again: again, leaveOut: leaveOut}
	for i := range steps {
		if err = w.step(ctx, i, &steps[i]); err != nil {
			break
		}
	}
	if printErr := w.print(); printErr != nil {
		return printErr
	}
	w.offerPage(path)
	switch {
	case err != nil:
		return err
	case state.Verdict == commission.NoGo:
		return &exitError{code: exitFail}
	case slices.ContainsFunc(state.Steps, func(s commission.Step) bool {
		return !s.Optional && s.Outcome != measure.Pass
	}):
		return &exitError{code: exitFail}
	}
	return nil
}

func plain(steps []commissionStep) (out []commission.Step) {
	for _, s := range steps {
		out = append(out, commission.Step{Name: s.name, Optional: s.optional})
	}
	return out
}

// walk is a commissioning under way.
type walk struct {
	io       streams
	m        *machine.Machine
	o        *benchOptions
	state    *commission.State
	again    bool
	leaveOut []string
	told     procedure.Briefing // the last one
}

// step does one step, or leaves it out with its reason.
func (w *walk) step(ctx context.Context, i int, s *commissionStep) error {
	fmt.Fprintf(w.io.err, "\n%d of %d: %s\n", i+1, len(w.state.Steps), s.name)
	if w.state.Passed(i) && !w.again {
		fmt.Fprintln(w.io.err, "  passed before; --again does it again")
		return nil
	}
	if why, err := w.reasonToSkip(ctx, s); err != nil || why != "" {
		fmt.Fprintln(w.io.err, "  left out: "+why)
		return errors.Join(err, w.state.Skip(i, why))
	}
	for again := true; again; {
		if err := w.perform(ctx, i, s); err != nil {
			return err
		}
		var err error
		if again, err = w.onceMore(ctx, i, s); err != nil {
			return err
		}
	}
	return nil
}

// perform runs the step's procedure, and keeps and tells what it came to.
func (w *walk) perform(ctx context.Context, i int, s *commissionStep) error {
	w.o.simulate = s.simulate
	bench, err := w.o.bench(ctx, w.io, s.name, w.m)
	if err != nil {
		return err
	}
	r, err := s.run(ctx, bench)
	w.o.finished(r, err)
	if r == nil {
		return err
	}
	if noteErr := w.state.Done(i, r.Result, r.Found, r.Next, r.Dir); noteErr != nil {
		return noteErr
	}
	fmt.Fprintf(w.io.err, "  %s: %s\n", s.name, strings.ReplaceAll(string(r.Result.Outcome), "_", " "))
	for _, missed := range w.state.Steps[i].Missed {
		fmt.Fprintln(w.io.err, "  missed: "+missed)
	}
	if r.Result.Outcome == measure.Error {
		for _, warning := range r.Result.Warnings {
			fmt.Fprintln(w.io.err, "  note: "+warning)
		}
	}
	for _, next := range r.Next {
		fmt.Fprintln(w.io.err, "  next: "+next)
	}
	if err != nil {
		return ended(r, err)
	}
	return nil
}

// onceMore asks whether to do a step again that has not passed.
func (w *walk) onceMore(ctx context.Context, i int, s *commissionStep) (again bool, err error) {
	if w.o.virtual || w.state.Passed(i) {
		return false, nil
	}
	answer, err := w.o.ask(w.io.err)(ctx, procedure.Question{
		Key:     s.name + "_again",
		Text:    s.name + " has not passed. Put right what you can and do it again, go on to the next, or stop?",
		Answers: []string{"again", "on", "stop"},
	})
	switch {
	case errors.Is(err, procedure.ErrNotAsked):
		return false, nil
	case err != nil:
		return false, err
	case answer == "stop":
		return false, errStopped()
	}
	return answer == "again", nil
}

func errStopped() error {
	return &exitError{code: exitStopped, err: errors.New("stopped; what has passed is kept")}
}

// reasonToSkip briefs the person and asks whether all is ready.
func (w *walk) reasonToSkip(ctx context.Context, s *commissionStep) (why string, err error) {
	if slices.Contains(w.leaveOut, s.name) {
		return "asked to leave it out", nil
	}
	if s.name == "tune" {
		if why := w.whyNoTuning(); why != "" {
			return why, nil
		}
	}
	tell(w.io.err, w.news(s.brief), w.o.virtual)
	if w.o.virtual || (w.o.safe && !s.wires) {
		return "", nil
	}
	answer, err := w.o.ask(w.io.err)(ctx, procedure.Question{
		Key: s.name, Text: "Is all of this so, and can no engine run?", Answers: []string{"yes", "skip", "stop"},
	})
	switch {
	case errors.Is(err, procedure.ErrNotAsked):
		return "nobody was there to say that it is wired and safe (--answer " + s.name + "=yes says so)", nil
	case err != nil:
		return "", err
	case answer == "skip":
		return "skipped by the person", nil
	case answer == "stop":
		return "not come to", errStopped()
	}
	return "", nil
}

// news leaves out of a briefing what stood in the one before, so that what is
// new is seen.
func (w *walk) news(brief procedure.Briefing) procedure.Briefing {
	told := w.told
	w.told = brief
	for _, list := range []struct{ now, before *[]string }{
		{&brief.Connect, &told.Connect}, {&brief.Moves, &told.Moves}, {&brief.Hurts, &told.Hurts},
	} {
		if slices.Equal(*list.now, *list.before) {
			*list.now = []string{"as before"}
		}
	}
	return brief
}

// whyNoTuning says why the gain need not be turned, if so. A governor that hunts
// misses no limit of sweep and loadstep: there is nothing steady to measure.
func (w *walk) whyNoTuning() string {
	why := "the gain is calm and the load step within its limits"
	for _, step := range w.state.Steps {
		if step.Name != "sweep" && step.Name != "loadstep" {
			continue
		}
		switch step.Outcome {
		case measure.Fail, measure.NotRun:
			return ""
		case measure.Pass:
		default:
			why = "loadstep and sweep have to tell first whether the gain wants turning"
		}
	}
	return why
}

// offerPage says how to get a page of what there is.
func (w *walk) offerPage(path string) {
	if !slices.ContainsFunc(w.state.Steps, func(s commission.Step) bool { return s.Record != "" }) {
		return
	}
	folder := ""
	if w.o.records != "runs" {
		folder = " --records " + w.o.records
	}
	fmt.Fprintf(w.io.err, "\nA page of it, to print and to put into the box: govrig report %s%s\n", path, folder)
}

func (w *walk) print() error {
	if !w.o.json {
		return w.state.WriteText(w.io.out)
	}
	e := json.NewEncoder(w.io.out)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(w.state)
}
