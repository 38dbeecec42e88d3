// Package spoolup finds out how a governor brings engine and rotor up.
package spoolup

import (
	"context"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure"
	"govrig/sim/machine"
)

// Procedure is the whole test.
var Procedure = execution.Procedure{
	Name: "spoolup", Title: "Spool-up",
	Short: "Run up from idling to a speed setting and measure time, overshoot and clutch grab",
	Long: `Plays the machine's engine to the governor: idle, then the stick goes up, the
governor arms, the clutch engages and the governor locks onto its speed.
Measures how long that takes, how far the engine goes beyond its speed, how fast
the head gains speed at worst, and how far the engine falls back at the clutch. Then
the stick goes low while the rotor turns, as for an autorotation (throttle hold, where
the machine file has it), and up again: how fast the speed is back.`,
	Examples: []string{"spoolup mine.yaml --virtual --speed hover"},
	Briefing: execution.GovernedBriefing("Finds out how the governor brings engine and rotor up from idling to its speed."),
	Engine:   true, Reads: execution.ReadsBlades, Yields: []string{"loadstep"},
	New: func() execution.Options { return new(Options) },
}

// Options are those of the spool-up.
type Options struct{ governed.AtSpeed }

// Measures are those that a run on the machine takes.
func (o *Options) Measures(m *machine.Machine) ([]measure.Declaration, error) {
	setting, err := o.Setting(m)
	if err != nil {
		return nil, err
	}
	return spoolMeasures(governed.New(m, setting)), nil
}

// Run runs the engine from idling up to a speed setting, through arming and the
// take-up of the clutch, until the governor holds.
func (o *Options) Run(ctx context.Context, b *execution.Bench) (*execution.Run, error) {
	setting, err := o.Setting(b.Machine)
	if err != nil {
		return nil, err
	}
	g := governed.New(b.Machine, setting)
	declared := spoolMeasures(g)
	return b.Run(ctx, execution.Plan{Name: Procedure.Name, Reads: Procedure.Reads, Options: o, Setting: setting, Declared: declared, Body: func(t *execution.Test) error {
		spool, rest, held, err := run(g, t)
		if err != nil {
			return err
		}
		g.TakeEngaged(t)
		if !held {
			return g.NotHeld(t, &spool, declared)
		}
		spool.Calibrate(t.Session)
		readSpoolUp(g, t, &spool, rest)
		return rearm(g, t, rest.Value)
	}})
}
