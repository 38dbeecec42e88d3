// Package tune finds which position of a governor's gain to keep.
package tune

import (
	"context"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure"
	"govrig/sim/machine"
)

// Procedure is the whole test.
var Procedure = execution.Procedure{
	Name: "tune", Title: "Gain tried step by step",
	Short: "Measure the loop at one position of the governor's gain after the other",
	Long: `You turn the governor's gain step by step; the rig measures margins and the
answer to a load step at each position, and says which one to keep, or why none
will do. It finds out by itself which way the gain works. Where nobody can be
asked, --answer gain=stop measures one position.`,
	Examples: []string{"tune mine.yaml --virtual"},
	Briefing: execution.GovernedBriefing("Finds out which position of the governor's gain suits the machine; you turn the gain, the rig measures."),
	Engine:   true, Optional: true, Reads: execution.ReadsEngine, Needless: needless,
	New: func() execution.Options { return new(Options) },
}

// Options are those of the tuning.
type Options struct {
	governed.AtSpeed
	// Positions is how many positions are measured at most; 0 is twenty.
	Positions int
}

// Flags are those that a person can set.
func (o *Options) Flags() []execution.Flag {
	return append(o.AtSpeed.Flags(), execution.Flag{Name: "positions", Usage: "measure so many positions at most", Value: &o.Positions})
}

// Measures are those that a run on the machine takes.
func (o *Options) Measures(m *machine.Machine) ([]measure.Declaration, error) {
	setting, err := o.Setting(m)
	if err != nil {
		return nil, err
	}
	return tuneMeasures(setting), nil
}

// Run measures one position of the gain after the other; the person turns it.
func (o *Options) Run(ctx context.Context, b *execution.Bench) (*execution.Run, error) {
	return new(tuning).run(ctx, b, o)
}

// needless says why the gain need not be turned, if so. A governor that hunts
// misses no limit of sweep and loadstep: there is nothing steady to measure.
func needless(outcome func(name string) measure.Outcome) string {
	why := "the gain is calm and the load step within its limits"
	for _, name := range []string{"loadstep", "sweep"} {
		switch outcome(name) {
		case measure.Fail, measure.NotRun:
			return ""
		case measure.Pass:
		default:
			why = "loadstep and sweep have to tell first whether the gain wants turning"
		}
	}
	return why
}
