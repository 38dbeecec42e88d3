package main

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"govrig/rig/procedure"
)

// streams are the three ways in and out. Results go to out, everything else
// to err, so that a pipe carries only results.
type streams struct {
	in  io.Reader
	out io.Writer
	err io.Writer
}

// Exit codes of every command.
const (
	exitPass    = 0 // all measures passed
	exitFail    = 1 // a limit failed
	exitUsage   = 2 // wrong use or bad input
	exitNoBoard = 3 // no board, or the link was lost
	exitStopped = 4 // stopped by the person
)

// exitError carries the exit code of a command beside its error. A nil err
// means that everything worth saying has been printed.
type exitError struct {
	code int
	err  error
}

func (e *exitError) Error() string {
	if e.err == nil {
		return fmt.Sprintf("exit %d", e.code)
	}
	return e.err.Error()
}

func (e *exitError) Unwrap() error { return e.err }

// run is the whole program but for the process: arguments and streams in,
// exit code out.
func run(ctx context.Context, args []string, io streams) int {
	io.out, io.err = cleaned(io.out, args), cleaned(io.err, args)
	root := newRoot(io)
	root.SetArgs(args)
	err := root.ExecuteContext(ctx)
	if err == nil && !errors.Is(context.Cause(ctx), errOutput) {
		return exitPass
	}
	code := exitUsage
	var exit *exitError
	said := false
	if errors.As(err, &exit) {
		code, said = exit.code, exit.err == nil
	}
	switch {
	case ctx.Err() != nil:
		fmt.Fprintf(io.err, "govrig: %s\n", stopped(ctx, exit))
		return exitStopped
	case !said:
		fmt.Fprintf(io.err, "govrig: %v\n", plainly(err))
	}
	return code
}

// stopped says that the command was stopped, with the reason when it was not the
// person, in the command's own words where it has some.
func stopped(ctx context.Context, exit *exitError) string {
	text := "stopped"
	if exit != nil && exit.code == exitStopped && exit.err != nil {
		text = exit.err.Error()
	}
	if why := context.Cause(ctx); !errors.Is(why, context.Canceled) {
		text += " (" + why.Error() + ")"
	}
	return text
}

func newRoot(io streams) *cobra.Command {
	cobra.MousetrapHelpText = "" // it refuses a double click on Windows
	root := &cobra.Command{
		Use:           "govrig",
		Short:         "Play an engine to a speed governor, on the bench, with nothing running",
		SilenceErrors: true,
		SilenceUsage:  true,
		Version:       version(),
		Example:       "  govrig new example.yaml\n  govrig loadstep example.yaml --virtual",
		RunE: func(*cobra.Command, []string) error {
			_, err := fmt.Fprint(io.out, startPage)
			return err
		},
	}
	root.SetFlagErrorFunc(unknownFlag)
	root.SetIn(io.in)
	root.SetOut(io.out)
	root.SetErr(io.err)
	all := commands(io)
	completions(all)
	root.AddCommand(all...)
	return root
}

// commands lists every command, in the order of a person's work.
func commands(io streams) (all []*cobra.Command) {
	all = []*cobra.Command{
		newNewCommand(io),
		newSchemaCommand(io),
		newPlanCommand(io),
		newPortsCommand(io),
		newFlashCommand(io),
		newPredictCommand(io),
		newCommissionCommand(io),
		newBenchCommand(io),
	}
	for _, p := range procedure.All {
		all = append(all, newProcedureCommand(io, p))
	}
	return append(all,
		newManualCommand(io),
		newIdentifyCommand(io),
		newMeasureCommand(io),
		newRunsCommand(io),
		newShowCommand(io),
		newCompareCommand(io),
		newReportCommand(io),
		newExportCommand(io),
		newReplayCommand(io),
		newVersionCommand(io),
		newManCommand(io),
		newEmulateCommand(io),
	)
}
