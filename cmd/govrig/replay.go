package main

import (
	"github.com/spf13/cobra"

	"govrig/rig/record/replay"
	"govrig/rig/runlog"
	"govrig/rig/show/report"
)

func newReplayCommand(io streams) *cobra.Command {
	var records string
	c := &cobra.Command{
		Use:   "replay RUN",
		Short: "Run a recorded run again and compare: the same bytes, the same measures",
		Long: `Feeds what the board said in a recorded run through the procedure of today. The
same version of govrig says the same to the board, byte for byte, and measures the
same; otherwise the first difference is named. No board is needed. The exit code
is 1 when something differs.
` + runArgument,
		Example: "  govrig replay last",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			rec, err := runlog.Find(records, args[0])
			if err != nil {
				return err
			}
			r, err := replay.Run(c.Context(), rec)
			if err != nil {
				return err
			}
			if err := report.Replay(io.out, rec, r, version()); err != nil {
				return err
			}
			if !r.Same() {
				return &exitError{code: exitFail}
			}
			return nil
		},
	}
	recordsFlag(c, &records)
	return c
}
