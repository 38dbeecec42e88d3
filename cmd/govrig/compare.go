package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"govrig/protocol/harmless"
	"govrig/rig/runlog"
	"govrig/rig/show/report"
)

func newCompareCommand(io streams) *cobra.Command {
	var records string
	c := &cobra.Command{
		Use:   "compare RUN RUN...",
		Short: "Compare runs: what has changed, and whether that is more than chance",
		Long: `Draws the runs over one another and compares their measures with those of the
first. Whether a change is more than the measures vary by themselves is told from
all comparable runs in the folder of records.
` + runArgument,
		Example: "  govrig compare 2026-03-01-193005-loadstep last",
		Args:    cobra.RangeArgs(2, report.MostCompared),
		RunE:    func(_ *cobra.Command, args []string) error { return compareRuns(io.out, io.err, records, args) },
	}
	recordsFlag(c, &records)
	return c
}

func compareRuns(out, errs io.Writer, records string, names []string) error {
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
