package main

import (
	"github.com/spf13/cobra"

	"govrig/rig/record/replay"
	"govrig/rig/runlog"
	"govrig/rig/show/report"
)

// runArgument says how a run is named.
const runArgument = `RUN is the path of its folder, its name in the folder of records, or "last".`

func newShowCommand(io streams) *cobra.Command {
	var records string
	c := &cobra.Command{
		Use:     "show RUN",
		Short:   "Show a run that was kept",
		Long:    "Shows a recorded run as it was shown when it was made, and how it came about.\n" + runArgument,
		Example: "  govrig show last",
		Args:    cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			rec, err := runlog.Find(records, args[0])
			if err != nil {
				return err
			}
			r, m, err := replay.Load(rec)
			if err != nil {
				return err
			}
			return report.Recorded(io.out, rec, m, r)
		},
	}
	recordsFlag(c, &records)
	return c
}
