package main

import (
	"context"

	"github.com/spf13/cobra"

	"govrig/rig/procedure"
)

func newThrottleCommand(io streams) *cobra.Command {
	var o benchOptions
	c := &cobra.Command{
		Use:   "throttle MACHINE",
		Short: "Measure how the throttle output follows the stick, arms, steps, and reaches the barrel's ends",
		Long: `Moves the stick, without pickup pulses and with those of an idling engine, no
engine in the loop, and times the governor's servo pulses: its ends, how it
follows the stick, frame rate and step, at which stick it takes up governing and
lets go. The machine's linkage tells what that means at the carburettor.
It takes a minute at most.`,
		Example: "  govrig throttle trainer.yaml --virtual\n  govrig throttle trainer.yaml --port /dev/ttyACM0",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return perform(c.Context(), io, c.Name(), args[0], &o, procedure.ThrottleBriefing, func(ctx context.Context, b *procedure.Bench) (*procedure.Run, error) {
				return procedure.Throttle(ctx, b, procedure.ThrottleOptions{})
			})
		},
	}
	o.boardFlags(c)
	return c
}
