package main

import (
	"context"

	"github.com/spf13/cobra"

	"govrig/rig/procedure"
)

func newFaultsCommand(io streams) *cobra.Command {
	var o benchOptions
	c := &cobra.Command{
		Use:   "faults MACHINE",
		Short: "Let pickup, stick, select line and supply fail, and see whether the governor is safe",
		Long: `Plays the machine's engine to the governor and lets it hold a speed under heavy
load. Then things go wrong, one after the other: missing, stray and doubled pickup
pulses, select pulses out of range, a restart of the governor, the stick pulled
low, and the pickup lost: while the speed is held, as a load goes off, and during
the spool-up. Measures how long each is not safe, the highest speed, and where the
throttle ends up.`,
		Example: "  govrig faults trainer.yaml --virtual",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return perform(c.Context(), io, c.Name(), args[0], &o, procedure.FaultsBriefing, func(ctx context.Context, b *procedure.Bench) (*procedure.Run, error) {
				return procedure.Faults(ctx, b, procedure.FaultsOptions{Speed: o.speed})
			})
		},
	}
	o.flags(c)
	return c
}
