// Package throttle finds out how a governor's throttle output goes with the stick.
package throttle

import (
	"context"

	"govrig/rig/execution"
	"govrig/rig/execution/openloop"
	"govrig/rig/measure"
	"govrig/sim/machine"
)

// Procedure is the whole test.
var Procedure = execution.Procedure{
	Name: "throttle", Title: "Throttle line against stick",
	Short: "Measure how the throttle output follows the stick, arms, steps, and reaches the barrel's ends",
	Long: `Moves the stick, without pickup pulses and with those of an idling engine, no
engine in the loop, and times the governor's servo pulses: its ends, how it
follows the stick, frame rate, jitter, missing frames and step, at which stick the
governor engages and disengages. The machine's linkage tells what that means at
the carburettor. The throttle servo's plug may be out: do it so before the servo is
connected for the first time.
It takes a minute and a half at most.`,
	Examples: []string{"throttle mine.yaml --virtual", "throttle mine.yaml --port /dev/ttyACM0"},
	Briefing: execution.Briefing{
		Purpose: "Finds out how the governor's throttle output follows the stick, when it engages, and what that means at the carburettor. It needs no servo: with the servo's plug out it finds whether the governor's frames are such as the servo may have.",
		Connect: execution.LinesGoverned, Moves: execution.MovesServo, Hurts: execution.HurtsStart,
	},
	Reads: []string{"engine.idle_speed", "throttle_servo", "throttle_linkage", "carburettor", "transmitter", "pickup.active", "governor", "stand_in"},
	New:   func() execution.Options { return new(Options) },
}

// Options are those of the throttle test. There are none.
type Options struct {
	execution.Plain `json:"-"`
}

// Flags are none.
func (*Options) Flags() []execution.Flag { return nil }

// Measures are those that a run on the machine takes.
func (*Options) Measures(m *machine.Machine) ([]measure.Declaration, error) {
	return throttleMeasures(m), nil
}

// Run moves the stick with and without pickup pulses, the engine left out, and
// reads the throttle line: how it follows, its frames and steps, at which stick
// the governor engages and disengages, and where its ends stand at the machine's
// carburettor.
func (o *Options) Run(ctx context.Context, b *execution.Bench) (*execution.Run, error) {
	return b.Run(ctx, execution.Plan{Name: Procedure.Name, Reads: Procedure.Reads, Options: o, Declared: throttleMeasures(b.Machine), Body: func(t *execution.Test) error {
		l := &throttleTest{Stand: openloop.New(t, float64(b.Machine.Governor.SpeedHigh))}
		return l.play()
	}})
}
