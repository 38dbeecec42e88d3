// Package sweep measures a governor's frequency response and the margins of its
// loop.
package sweep

import (
	"context"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure"
	"govrig/sim/machine"
)

// Procedure is the whole test.
var Procedure = execution.Procedure{
	Name: "sweep", Title: "Frequency response",
	Short: "Measure the governor's frequency response and how far the loop is from hunting",
	Long: `Plays the machine's engine to the governor and lets the played speed sway by
many sines at once, at light and at heavy load. From what the throttle does it
reads the governor's frequency response; with the simulated machine that gives
gain, phase and delay margin. Sways once more by another amplitude, to see whether
the answer is the same, and slowly where what decides lies below the sines.`,
	Examples: []string{"sweep mine.yaml --virtual"},
	Briefing: execution.GovernedBriefing("Finds out how the governor answers slow and quick swings of speed, and how far the loop is from hunting."),
	Engine:   true, PerSetting: true, Reads: execution.ReadsEngine,
	New: func() execution.Options { return new(Options) },
}

// Options are those of the sweep.
type Options struct{ governed.AtSpeeds }

// Measures are those that a run on the machine takes.
func (o *Options) Measures(m *machine.Machine) ([]measure.Declaration, error) {
	settings, err := o.Settings(m)
	if err != nil {
		return nil, err
	}
	return o.measures(m, settings), nil
}

func (*Options) measures(m *machine.Machine, settings []machine.SpeedSetting) []measure.Declaration {
	declared := append([]measure.Declaration{governed.EngagedMeasure()}, adviceMeasures...)
	for _, p := range SweepPoints(m, settings) {
		declared = append(declared, p.measures()...)
	}
	return declared
}

// Run sweeps; see Sweep.Measure.
func (o *Options) Run(ctx context.Context, b *execution.Bench) (*execution.Run, error) {
	return new(Sweep).Measure(ctx, b, o)
}
