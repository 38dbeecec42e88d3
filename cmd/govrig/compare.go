package main

import (
	"fmt"
	"io"
	"path/filepath"

	"github.com/spf13/cobra"

	"govrig/protocol/harmless"
	"govrig/rig/runlog"
	"govrig/rig/show/report"
	"govrig/sim/standin/governor/model"
)

func newCompareCommand(io streams) *cobra.Command {
	var records string
	var o flightOptions
	c := &cobra.Command{
		Use:   "compare RUN RUN...|FILE FILE",
		Short: "Compare runs: what has changed, and whether that is more than chance",
		Long: `Draws the runs over one another and compares their measures with those of the
first. Whether a change is more than the measures vary by themselves is told from
all comparable runs in the folder of records.

Of a run and the log of a flight (the name of a file, of any style that measure
reads) it draws the load step of both over one another, takes the same measures of
both, and says what the difference says about the machine file.

Two governor files (see identify) are laid side by side: what differs by more than
its uncertainty.

` + runArgument,
		Example: "  govrig compare 2026-03-01-193005-loadstep last\n  govrig compare last flight.csv --svg both.svg\n  govrig compare spring-governor.yaml autumn-governor.yaml",
		Args:    cobra.RangeArgs(2, report.MostCompared),
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) == 2 && isFile(args[1]) && !isGovernor(args[1]) {
				options, err := o.options(c)
				if err != nil {
					return err
				}
				return compareFlight(io, records, args[0], args[1], options, o.svg)
			}
			return compareRuns(io.out, io.err, records, args)
		},
	}
	recordsFlag(c, &records)
	o.flags(c)
	return c
}

// isGovernor reports whether a name is that of a governor file.
func isGovernor(name string) bool { return filepath.Ext(name) == ".yaml" }

// compareGovernors compares two governor files.
func compareGovernors(out io.Writer, paths []string) error {
	a, err := model.Load(paths[0])
	if err != nil {
		return err
	}
	b, err := model.Load(paths[1])
	if err != nil {
		return err
	}
	return model.WriteComparison(out, a, b)
}

func compareRuns(out, errs io.Writer, records string, names []string) error {
	if len(names) == 2 && isGovernor(names[0]) && isGovernor(names[1]) {
		return compareGovernors(out, names)
	}
	var runs []*runlog.Record
	for _, name := range names {
		rec, err := runlog.Find(records, name)
		if err != nil {
			return err
		}
		runs = append(runs, rec)
	}
	known, unreadable, err := runlog.List(records, runlog.Alike(runs))
	if err != nil {
		return err
	}
	for _, e := range unreadable {
		fmt.Fprintln(errs, harmless.Line(e.Error()))
	}
	return report.CompareRuns(out, runs, known)
}
