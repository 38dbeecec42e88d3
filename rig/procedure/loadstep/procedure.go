// Package loadstep finds out what a governor makes of a change of load.
package loadstep

import (
	"context"
	"fmt"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure"
	"govrig/sim/machine"
)

// Procedure is the whole test.
var Procedure = execution.Procedure{
	Name: "loadstep", Title: "Load steps",
	Short: "Hold a speed setting, put a load on and take it off, and measure the answer",
	Long: `Plays the machine's engine to the governor: idle, spool-up, steady, then the
collective of the machine file's load_step comes on and goes off again. Measures
how far the speed dips and rises and how long it takes to come back. Then a series
that imitates flight: a climb, three quick pulls, and an overload that stops.`,
	Examples: []string{"loadstep mine.yaml --virtual", "loadstep mine.yaml --port /dev/ttyACM0 --speed hover", "loadstep mine.yaml --virtual --speed all"},
	Briefing: execution.GovernedBriefing("Finds out how far the speed dips and rises when the load changes, and how soon it is back."),
	Engine:   true, PerSetting: true, Reads: execution.ReadsEngine,
	New: func() execution.Options { return new(Options) },
}

// Options are those of the load step.
type Options struct {
	governed.AtSpeeds
	// Brief leaves out the series that imitates flight.
	Brief bool
}

// Flags are those that a person can set.
func (o *Options) Flags() []execution.Flag {
	return append(o.AtSpeeds.Flags(), execution.Flag{Name: "brief", Usage: "leave out the series that imitates flight", Value: &o.Brief})
}

// Measures are those that a run on the machine takes.
func (o *Options) Measures(m *machine.Machine) ([]measure.Declaration, error) {
	settings, err := o.Settings(m)
	if err != nil {
		return nil, err
	}
	return o.measures(m, settings), nil
}

func (o *Options) measures(_ *machine.Machine, settings []machine.SpeedSetting) []measure.Declaration {
	declared := []measure.Declaration{governed.EngagedMeasure()}
	for _, s := range settings {
		declared = append(declared, o.ofSetting(s, len(settings) > 1)...)
	}
	return declared
}

func (o *Options) ofSetting(s machine.SpeedSetting, several bool) []measure.Declaration {
	all := append(governed.SteadyMeasures(s), loadMeasures(s)...)
	if !o.Brief {
		all = append(all, flightMeasures(s)...)
	}
	return governed.Suffixed(all, s, several)
}

// Run holds a speed setting, puts the load on by collective, holds, takes it off
// again, and then plays a series of loads that imitates flight.
func (o *Options) Run(ctx context.Context, b *execution.Bench) (*execution.Run, error) {
	settings, err := o.Settings(b.Machine)
	if err != nil {
		return nil, err
	}
	declared := o.measures(b.Machine, settings)
	return b.Run(ctx, execution.Plan{Name: Procedure.Name, Reads: Procedure.Reads, Options: o, Setting: governed.Only(settings), Declared: declared, Body: func(t *execution.Test) error {
		g := governed.New(b.Machine, settings[0])
		if ok, err := g.SpoolUp(t, declared); !ok {
			return err
		}
		for i, s := range settings {
			g.To(s, len(settings) > 1)
			part, held, err := loadStep(g, t, o.Brief)
			if err != nil {
				return err
			}
			if !held {
				for _, later := range settings[i+1:] {
					governed.NotRun(t, o.ofSetting(later, true), fmt.Sprintf("the governor did not hold %q before it", s.Name))
				}
				return g.NotHeld(t, &part, o.ofSetting(s, len(settings) > 1))
			}
		}
		return nil
	}})
}
