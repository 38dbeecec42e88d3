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
	c := &cobra.Command{
		Use:   "compare RUN RUN...|FILE FILE",
		Short: "Compare runs: what has changed, and whether that is more than chance",
		Long: `Draws the runs over one another and compares their measures with those of the
first. Whether a change is more than the measures vary by themselves is told from
all comparable runs in the folder of records.
Two governor files (see identify) are laid side by side: what differs by more than
its uncertainty.
` + runArgument,
		Example: "  govrig compare 2026-03-01-193005-loadstep last\n  govrig compare spring-governor.yaml autumn-governor.yaml",
		Args:    cobra.RangeArgs(2, report.MostCompared),
		RunE:    func(_ *cobra.Command, args []string) error { return compareRuns(io.out, io.err, records, args) },
	}
	recordsFlag(c, &records)
	return c
}

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
	if len(names) == 2 && filepath.Ext(names[0]) == ".yaml" && filepath.Ext(names[1]) == ".yaml" {
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
	known, unreadable, err := runlog.List(records)
	if err != nil {
		return err
	}
	for _, e := range unreadable {
		fmt.Fprintln(errs, harmless.Line(e.Error()))
	}
	return report.CompareRuns(out, runs, known)
}
