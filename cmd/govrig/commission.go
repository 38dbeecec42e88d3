package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"govrig/rig/commission"
	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/procedure"
	"govrig/sim/words"
)

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
		Example: "  govrig commission mine.yaml --virtual\n  govrig commission mine.yaml --port /dev/ttyACM0",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return commissionMachine(c.Context(), io, args[0], &o, again, leaveOut)
		},
	}
	o.flags(c)
	c.Flags().BoolVar(&again, "again", false, "do the steps again that have passed already")
	c.Flags().StringSliceVar(&leaveOut, "leave-out", nil, "steps to leave out")
	return c
}

// names are those of the steps.
func names(list procedure.List) (all []string) {
	for _, p := range list {
		all = append(all, p.Name)
	}
	return all
}

func commissionMachine(ctx context.Context, io streams, path string, o *benchOptions, again bool, leaveOut []string) error {
	m, err := load(io, path)
	if err != nil {
		return err
	}
	for _, name := range leaveOut {
		if !slices.ContainsFunc(procedure.All, func(p *execution.Procedure) bool { return p.Name == name }) {
			return fmt.Errorf("--leave-out %s: there is no such step; there are: %s", name, strings.Join(names(procedure.All), ", "))
		}
	}
	if o.records == "" {
		return errors.New("commission keeps what has passed in the folder of the run records: --records cannot be empty")
	}
	if err := o.recordsReady(); err != nil {
		return err
	}
	o.lines = newLines(io.in)
	state, err := commission.Open(o.records, m, o.virtual, procedure.All)
	if err != nil {
		return err
	}
	ctx, unwatched, err := o.watched(ctx, io)
	if err != nil {
		return err
	}
	defer unwatched()
	fmt.Fprintf(io.err, "%s: %d steps. Ctrl-C stops at any time: what has passed is kept, and commission goes on from there.\n", m.Name, len(procedure.All))
	w := commission.Walk{
		State: state, Procedures: procedure.All, Notes: io.err, Ask: o.ask(io.err), Finished: o.finished,
		Virtual: o.virtual, Safe: o.safe, Again: again, LeaveOut: leaveOut,
		Bench: func(ctx context.Context, p *execution.Procedure, options execution.Options) (*execution.Bench, error) {
			return o.bench(ctx, io, p, options, m)
		},
	}
	err = w.Go(ctx)
	if printErr := o.printState(io, state); printErr != nil {
		return printErr
	}
	o.offerPage(io, state, path)
	var unfinished *commission.UnfinishedError
	switch {
	case errors.As(err, &unfinished):
		return ended(unfinished.Run, unfinished.Err)
	case errors.Is(err, commission.ErrStopped):
		return &exitError{code: exitStopped, err: err}
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

// offerPage says how to get a page of what there is.
func (o *benchOptions) offerPage(io streams, state *commission.State, path string) {
	if !slices.ContainsFunc(state.Steps, func(s commission.Step) bool { return s.Record != "" }) {
		return
	}
	folder := ""
	if o.records != "runs" {
		folder = " --records " + o.records
	}
	fmt.Fprintf(io.err, "\nA page of it, to print and to put into the box: govrig report %s%s\n", path, folder)
}

func (o *benchOptions) printState(io streams, state *commission.State) error {
	if !o.json {
		return state.WriteText(io.out)
	}
	return words.JSON(io.out, state)
}
