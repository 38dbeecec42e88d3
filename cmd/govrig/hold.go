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
		Short: "Hold each speed setting: find its select pulse, measure speed, band, droop, hunting",
		Long: `Plays the machine's engine to the governor: idle, spool-up, then each speed
setting in turn. Finds the select pulse that gives the wanted head speed, measures
how much the speed wanders under a steady light load and whether it hunts, and how
much lower it stays under the heavy one.`,
		Example: "  govrig hold trainer.yaml --virtual\n  govrig hold trainer.yaml --virtual --speed hover --time 20s",
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
	speed := c.Flags().Lookup("speed")
	o.speed, speed.DefValue = procedure.AllSpeeds, procedure.AllSpeeds
	speed.Usage = "name of the speed setting in the machine file, or all of them"
	c.Flags().DurationVar(&hold, "time", 10*time.Second, "how long to hold each setting under light load")
	return c
}
