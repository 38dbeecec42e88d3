package main

import (
	"context"
	"errors"
	"time"

	"github.com/spf13/cobra"

	"govrig/rig/procedure"
)

func newHoldCommand(io streams) *cobra.Command {
	var o benchOptions
	var hold time.Duration
	c := &cobra.Command{
		Use:   "hold MACHINE",
		Short: "Hold a speed setting under steady load and measure speed and band",
		Long: `Plays the machine's engine to the governor: idle, spool-up, then a steady load.
Measures the governed speed, the head speed that results, and how much the speed
wanders.`,
		Example: "  govrig hold trainer.yaml --virtual --time 20s",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			if hold < time.Second || hold > time.Hour {
				return errors.New("--time takes from 1s to 1h")
			}
			return perform(c.Context(), io, c.Name(), args[0], &o, procedure.HoldBriefing, func(ctx context.Context, b *procedure.Bench) (*procedure.Run, error) {
				return procedure.Hold(ctx, b, procedure.HoldOptions{Speed: o.speed, Time: hold.Seconds()})
			})
		},
	}
	o.flags(c)
	c.Flags().DurationVar(&hold, "time", 10*time.Second, "how long to hold")
	return c
}
