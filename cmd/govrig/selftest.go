package main

import (
	"context"

	"github.com/spf13/cobra"

	"govrig/rig/procedure"
	"govrig/sim/standin/board"
	"govrig/sim/standin/governor"
)

func newSelfTestCommand(io streams) *cobra.Command {
	o := benchOptions{simulate: jumpers}
	c := &cobra.Command{
		Use:   "selftest",
		Short: "Check the board and its wires with two jumpers",
		Long: `Plays each of the board's lines in turn and listens at both of its inputs, over two
jumper wires: D9 to D7 and D10 to D8. Measures how true the pulses are played and
timed, names a wire that is missing or swapped, and shows how far the board's
clock is off. It needs no machine file and no governor.`,
		Example: "  govrig selftest --port /dev/ttyACM0",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			return perform(c.Context(), io, c.Name(), "", &o, procedure.SelfTestBriefing, func(ctx context.Context, b *procedure.Bench) (*procedure.Run, error) {
				return procedure.SelfTest(ctx, b, procedure.SelfTestOptions{})
			})
		},
	}
	o.boardFlags(c)
	return c
}

// jumpers puts a virtual board with both jumpers on the bench.
func jumpers(b *procedure.Bench) error {
	b.Board = board.New(board.Options{Baud: b.Connection.Baud, Jumpers: []board.Jumper{
		{From: governor.Pickup, To: board.Probe}, {From: governor.Stick, To: board.Throttle},
	}})
	return nil
}
