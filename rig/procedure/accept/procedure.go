// Package accept finds out which pickup pulses a governor registers, and what it
// rides over.
package accept

import (
	"context"
	"slices"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure"
	"govrig/sim/machine"
)

// Procedure is the whole test.
var Procedure = execution.Procedure{
	Name: "accept", Title: "Pickup-input test",
	Short: "Find which pickup pulses the governor hears, and how many missing or stray ones it rides over",
	Long: `Plays pickup pulses of both polarities, of several widths and speeds, with the
stick up, to its end where that is needed, and no engine in the loop, and
watches whether the throttle does anything that it does not do without pulses.
Speeds change as an engine's do. Then it plays the machine's engine, leaves pulses
out and adds stray ones, and watches the engine speed.
It takes three minutes at most.`,
	Examples: []string{"accept mine.yaml --virtual", "accept mine.yaml --port /dev/ttyACM0"},
	Briefing: execution.Briefing{
		Purpose: "Finds out which pickup pulses the governor hears: polarity, width, speed, and how many missing or stray ones it rides over.",
		Connect: execution.LinesGoverned, Moves: execution.MovesServo, Hurts: execution.HurtsStart,
	},
	Reads: append(slices.Clone(execution.ReadsEngine), "pickup"),
	New:   func() execution.Options { return new(Options) },
}

// Options are those of the pickup-input test.
type Options struct{ governed.AtSpeed }

// Measures are those that a run on the machine takes.
func (o *Options) Measures(m *machine.Machine) ([]measure.Declaration, error) {
	setting, err := o.Setting(m)
	if err != nil {
		return nil, err
	}
	return newAcceptTest(m, setting).measures(), nil
}

// Run plays pickup pulses of both polarities, of several widths and speeds, the
// stick up and no engine in the loop. A pulse is heard when the throttle does
// what it does not do without pulses. Then it closes the loop and leaves pulses
// out or adds some.
func (o *Options) Run(ctx context.Context, b *execution.Bench) (*execution.Run, error) {
	setting, err := o.Setting(b.Machine)
	if err != nil {
		return nil, err
	}
	a := newAcceptTest(b.Machine, setting)
	return b.Run(ctx, execution.Plan{Name: Procedure.Name, Reads: Procedure.Reads, Options: o, Setting: setting, Declared: a.measures(), Body: func(t *execution.Test) error {
		a.t = t
		return a.play()
	}})
}
