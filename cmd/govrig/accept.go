package main

import (
	"context"

	"github.com/spf13/cobra"

	"govrig/rig/procedure"
)

func newAcceptCommand(io streams) *cobra.Command {
	var o benchOptions
	c := &cobra.Command{
		Use:   "accept MACHINE",
		Short: "Find which pickup pulses the governor hears, and how many missing or stray ones it rides over",
		Long: `Plays pickup pulses of both polarities, of several widths and speeds, with the
stick up and no engine in the loop, and watches whether the throttle does
anything that it does not do without pulses. Then it plays the machine's engine,
leaves pulses out and adds stray ones, and watches the engine speed.
It takes two minutes at most.`,
		Example: "  govrig accept trainer.yaml --virtual\n  govrig accept trainer.yaml --port /dev/ttyACM0",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return perform(c.Context(), io, c.Name(), args[0], &o, procedure.AcceptBriefing, func(ctx context.Context, b *procedure.Bench) (*procedure.Run, error) {
				return procedure.Accept(ctx, b, procedure.AcceptOptions{Speed: o.speed})
			})
		},
	}
	o.flags(c)
	return c
}
