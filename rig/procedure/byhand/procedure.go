// Package byhand is a governor under a person's hands: stick, select line, pickup
// pulses of any speed, or the simulated engine under a load, while its throttle is
// looked at. It teaches a governor its stick ends, reads its own lights, shows a
// student what it does.
package byhand

import (
	"context"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/sim/machine"
)

// Procedure is the whole of it. It is no test and no step of a commission.
var Procedure = execution.Procedure{
	Name: "manual", Title: "By hand",
	Short: "Hold stick, select, pickup speed and load in your own hands, and see the governor's throttle",
	Long: `Plays what you order: the stick, the select line, pickup pulses of any speed, or
the machine's simulated engine with a load; and shows the governor's throttle as pulse
width, servo travel and open barrel. It is for teaching a governor its stick ends, for
reading its own lights, for showing a student. All of it is recorded.
The board goes safe (stick low, no pickup pulses) when you end it, when the program or
the terminal goes, when the computer sleeps, and when no key was pressed for five
minutes.`,
	Examples: []string{"manual mine.yaml --virtual", "manual mine.yaml --port /dev/ttyACM0"},
	Briefing: execution.GovernedBriefing("Gives you stick, select line, pickup pulses and load to hold, and shows what the governor makes of them."),
	Reads:    execution.ReadsEngine,
	New:      func() execution.Options { return new(Options) },
}

// Options are those of the room. There are none.
type Options struct {
	execution.Plain `json:"-"`
}

// Flags are none.
func (*Options) Flags() []execution.Flag { return nil }

// Measures are none but the rig's own.
func (*Options) Measures(*machine.Machine) ([]measure.Declaration, error) { return nil, nil }

// Run opens the room: the bench's Ask gives the orders, its Progress shows what comes
// of them.
func (o *Options) Run(ctx context.Context, b *execution.Bench) (*execution.Run, error) {
	return b.Run(ctx, execution.Plan{Name: Procedure.Name, Reads: Procedure.Reads, Options: o, Once: true, Body: func(t *execution.Test) error {
		return (&room{t: t, m: b.Machine}).open()
	}})
}
