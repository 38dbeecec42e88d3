package main

import (
	"context"

	"github.com/spf13/cobra"

	"govrig/rig/procedure"
)

func newTuneCommand(io streams) *cobra.Command {
	var o benchOptions
	var positions int
	c := &cobra.Command{
		Use:   "tune MACHINE",
		Short: "Measure the loop at one position of the governor's gain after the other",
		Long: `You turn the governor's gain step by step; the rig measures margins and the
answer to a load step at each position, and says which one to keep, or why none
will do. It finds out by itself which way the gain works. Where nobody can be
asked, --answer gain=stop measures one position.`,
		Example: "  govrig tune trainer.yaml --virtual",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return perform(c.Context(), io, c.Name(), args[0], &o, procedure.TuneBriefing, func(ctx context.Context, b *procedure.Bench) (*procedure.Run, error) {
				return procedure.Tune(ctx, b, procedure.TuneOptions{Speed: o.speed, Positions: positions})
			})
		},
	}
	o.flags(c)
	c.Flags().IntVar(&positions, "positions", 0, "measure so many positions at most")
	return c
}
