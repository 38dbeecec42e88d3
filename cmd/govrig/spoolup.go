package main

import (
	"context"

	"github.com/spf13/cobra"

	"govrig/rig/procedure"
)

func newSpoolUpCommand(io streams) *cobra.Command {
	var o benchOptions
	c := &cobra.Command{
		Use:   "spoolup MACHINE",
		Short: "Run up from idling to a speed setting and measure time, overshoot and clutch grab",
		Long: `Plays the machine's engine to the governor: idle, then the stick goes up, the
governor arms, the clutch takes up the rotor and the governor locks onto its speed.
Measures how long that takes, how far the engine goes beyond its speed, how fast
the head gains speed at worst, and how far the engine falls back at the clutch.`,
		Example: "  govrig spoolup trainer.yaml --virtual --speed hover",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return perform(c.Context(), io, c.Name(), args[0], &o, procedure.SpoolUpBriefing, func(ctx context.Context, b *procedure.Bench) (*procedure.Run, error) {
				return procedure.SpoolUp(ctx, b, procedure.SpoolUpOptions{Speed: o.speed})
			})
		},
	}
	o.flags(c)
	return c
}
