package main

import (
	"context"

	"github.com/spf13/cobra"

	"govrig/rig/procedure"
)

func newLoadStepCommand(io streams) *cobra.Command {
	var o benchOptions
	c := &cobra.Command{
		Use:   "loadstep MACHINE",
		Short: "Hold a speed setting, put a load on and take it off, and measure the answer",
		Long: `Plays the machine's engine to the governor: idle, spool-up, steady, then the
collective of the machine file's load_step comes on and goes off again. Measures
how far the speed dips and rises and how long it takes to come back.`,
		Example: "  govrig loadstep trainer.yaml --virtual\n  govrig loadstep trainer.yaml --port /dev/ttyACM0 --speed hover",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return perform(c.Context(), io, c.Name(), args[0], &o, procedure.LoadStepBriefing, func(ctx context.Context, b *procedure.Bench) (*procedure.Run, error) {
				return procedure.LoadStep(ctx, b, procedure.LoadStepOptions{Speed: o.speed})
			})
		},
	}
	o.flags(c)
	return c
}
