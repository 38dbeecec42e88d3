package main

import (
	"context"

	"github.com/spf13/cobra"

	"govrig/rig/procedure"
)

func newLoadStepCommand(io streams) *cobra.Command {
	var o benchOptions
	var brief bool
	c := &cobra.Command{
		Use:   "loadstep MACHINE",
		Short: "Hold a speed setting, put a load on and take it off, and measure the answer",
		Long: `Plays the machine's engine to the governor: idle, spool-up, steady, then the
collective of the machine file's load_step comes on and goes off again. Measures
how far the speed dips and rises and how long it takes to come back. Then a series
that imitates flight: a climb, three quick pulls, and an overload that stops.`,
		Example: "  govrig loadstep trainer.yaml --virtual\n  govrig loadstep trainer.yaml --port /dev/ttyACM0 --speed hover\n  govrig loadstep trainer.yaml --virtual --speed all",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return perform(c.Context(), io, c.Name(), args[0], &o, procedure.LoadStepBriefing, func(ctx context.Context, b *procedure.Bench) (*procedure.Run, error) {
				return procedure.LoadStep(ctx, b, procedure.LoadStepOptions{Speed: o.speed, Brief: brief})
			})
		},
	}
	o.flags(c)
	c.Flags().Lookup("speed").Usage = "name of the speed setting in the machine file, or all (default: the first)"
	c.Flags().BoolVar(&brief, "brief", false, "leave out the series that imitates flight")
	return c
}
