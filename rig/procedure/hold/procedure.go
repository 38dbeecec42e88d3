// Package hold finds the select pulse of each speed setting and measures how the
// governor holds it.
package hold

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
	Name: "hold", Title: "Steady state",
	Short: "Hold each speed setting: find its select pulse, measure speed, band, droop, hunting",
	Long: `Plays the machine's engine to the governor: idle, spool-up, then each speed
setting in turn. Finds the select pulse that gives the wanted head speed, measures
how much the speed wanders under a steady light load and whether it hunts, and how
much lower it stays under the heavy one.`,
	Examples: []string{"hold mine.yaml --virtual", "hold mine.yaml --virtual --speed hover --time 20s"},
	Briefing: execution.GovernedBriefing("Finds out which select pulse gives each wanted head speed, and how steadily the governor holds it."),
	Engine:   true, PerSetting: true, Reads: execution.ReadsBlades, Yields: []string{"loadstep"},
	New: func() execution.Options {
		return &Options{AtSpeeds: governed.AtEach(execution.AllSpeeds), Time: 10}
	},
}

// Options are those of the steady state.
type Options struct {
	governed.AtSpeeds
	// Time is how long to hold each setting, s.
	Time execution.Time
}

// Flags are those that a person can set.
func (o *Options) Flags() []execution.Flag {
	return []execution.Flag{
		{Name: "speed", Usage: "name of the speed setting in the machine file, or all of them", Value: &o.Speed},
		{Name: "time", Usage: "how long to hold each setting under light load", Value: &o.Time},
	}
}

// Check refuses a time that makes no sense.
func (o *Options) Check(bool) error { return execution.Between("time", o.Time, 1) }

// Measures are those that a run on the machine takes.
func (o *Options) Measures(m *machine.Machine) ([]measure.Declaration, error) {
	settings, err := o.Settings(m)
	if err != nil {
		return nil, err
	}
	return o.measures(m, settings), nil
}

func (*Options) measures(m *machine.Machine, settings []machine.SpeedSetting) []measure.Declaration {
	declared := []measure.Declaration{governed.EngagedMeasure()}
	for _, s := range settings {
		declared = append(declared, ofSetting(m, s, len(settings) > 1)...)
	}
	return declared
}

func ofSetting(m *machine.Machine, s machine.SpeedSetting, several bool) []measure.Declaration {
	return governed.Suffixed(holdMeasures(m, s), s, several)
}

// Run runs the engine up and, at each speed setting, finds the select width that
// gives it, holds it under the low collective of the machine's load step, and
// then under the high one.
func (o *Options) Run(ctx context.Context, b *execution.Bench) (*execution.Run, error) {
	settings, err := o.Settings(b.Machine)
	if err != nil {
		return nil, err
	}
	declared := o.measures(b.Machine, settings)
	return b.Run(ctx, execution.Plan{Name: Procedure.Name, Reads: Procedure.Reads, Options: o, Setting: governed.Only(settings), Declared: declared, Body: func(t *execution.Test) error {
		g := governed.New(b.Machine, settings[0])
		part, held, err := g.TakeUp(t)
		if err != nil {
			return err
		}
		g.TakeEngaged(t)
		g.Turns = true
		h := holding{t: t, g: g, time: float64(o.Time)}
		for i, s := range settings {
			g.To(s, len(settings) > 1)
			if held {
				part, held, err = h.setting()
			}
			if err != nil {
				return err
			}
			if !held {
				h.not(&part)
				for _, later := range settings[i+1:] {
					governed.NotRun(t, ofSetting(b.Machine, later, true), fmt.Sprintf("the governor did not hold %q before it", s.Name))
				}
				return h.causes()
			}
		}
		t.Next("%s", confirm[b.Machine.Governor.Select])
		return h.causes()
	}})
}

// confirm is what to do with what was found.
var confirm = map[machine.SelectKind]string{
	machine.SelectContinuous: "Give the select channel the travel found for each setting, and confirm it on the bench with the real transmitter.",
	machine.SelectSteps:      "Give the select channel the pulse of each setting, and confirm on the bench with the real transmitter that it picks the right one.",
	machine.SelectNone:       "Mark where the governor's speed setting stands, and secure it: nothing but a run like this tells when it has moved.",
}
