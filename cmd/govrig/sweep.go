package main

import (
	"context"

	"github.com/spf13/cobra"

	"govrig/rig/procedure"
)

func newSweepCommand(io streams) *cobra.Command {
	var o benchOptions
	c := &cobra.Command{
		Use:   "sweep MACHINE",
		Short: "Measure the governor's frequency response and how far the loop is from hunting",
		Long: `Plays the machine's engine to the governor and lets the played speed sway by
many sines at once, at light and at heavy load. From what the throttle does it
reads the governor's frequency response; with the simulated machine that gives
gain, phase and delay margin.`,
		Example: "  govrig sweep trainer.yaml --virtual",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return perform(c.Context(), io, c.Name(), args[0], &o, procedure.SweepBriefing, func(ctx context.Context, b *procedure.Bench) (*procedure.Run, error) {
				return new(procedure.Sweep).Measure(ctx, b, procedure.SweepOptions{Speed: o.speed})
			})
		},
	}
	o.flags(c)
	return c
}
