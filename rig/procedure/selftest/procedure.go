// Package selftest finds out whether the board and its wires are right.
package selftest

import (
	"context"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
	"govrig/sim/standin/governor"
)

// Procedure is the whole test.
var Procedure = execution.Procedure{
	Name: "selftest", Title: "Board and wires",
	Short: "Check the board and its wires with two jumpers",
	Long: `Plays each of the board's lines in turn and listens at both of its inputs, over two
jumper wires: D9 to D7 and D10 to D8. Measures how true the pulses are played and
timed, names a wire that is missing or swapped, and shows how far the board's
clock is off. It needs no machine file and no governor.`,
	Examples: []string{"selftest --port /dev/ttyACM0"},
	Briefing: execution.Briefing{
		Purpose: "Finds out whether the board plays and times its pulses as it should, and whether the wires are right.",
		Connect: []string{
			"nothing but two jumper wires on the board itself, put in before its USB plug:",
			"D9 (pickup line) to D7 (pickup probe), D10 (stick line) to D8 (throttle line)",
		},
		Moves: []string{"nothing"},
		Hurts: []string{
			"the board: never join two of D9, D10 and D11, nor any of them to 5V or GND",
			"take governor, servo and sensor off first",
		},
	},
	Wires: execution.Jumpers,
	New:   func() execution.Options { return new(Options) },
}

// Options are those of the self-test. There are none.
type Options struct {
	execution.Plain `json:"-"`
}

// Flags are none.
func (*Options) Flags() []execution.Flag { return nil }

// Measures are those that a run takes on a board in real time.
func (*Options) Measures(*machine.Machine) ([]measure.Declaration, error) {
	return selfTestMeasures(true), nil
}

// Simulate puts a virtual board with both jumpers on the bench.
func (*Options) Simulate(b *execution.Bench) error {
	b.Board = board.New(board.Options{Baud: b.Connection.Baud, Jumpers: []board.Jumper{
		{From: governor.Pickup, To: board.Probe}, {From: governor.Stick, To: board.Throttle},
	}})
	return nil
}

// Run plays each of the board's outputs in turn and listens at each of its
// inputs. It needs no machine.
func (o *Options) Run(ctx context.Context, b *execution.Bench) (*execution.Run, error) {
	settings := probeInput.settings()
	return b.Run(ctx, execution.Plan{
		Name: Procedure.Name, Subject: "board", Options: o, Settings: &settings, Declared: selfTestMeasures(b.Clock != nil),
		Body: func(t *execution.Test) error { return (&selfTest{Test: t}).run() },
	})
}
