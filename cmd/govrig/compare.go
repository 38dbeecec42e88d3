package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"govrig/protocol/harmless"
	"govrig/rig/execution"
	"govrig/rig/record/compare"
	"govrig/rig/record/replay"
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
	var traces []*execution.Trace
	for _, name := range names {
		rec, err := runlog.Find(records, name)
		if err != nil {
			return err
		}
		r, _, err := replay.Load(rec)
		if err != nil {
			return err
		}
		runs, traces = append(runs, rec), append(traces, &r.Trace)
	}
	known, unreadable, err := runlog.List(records)
	if err != nil {
		return err
	}
	for _, e := range unreadable {
		fmt.Fprintln(errs, harmless.Line(e.Error()))
	}
	table, err := compare.New(runs, known)
	if err != nil {
		return err
	}
	return report.Compare(out, table, traces)
}
