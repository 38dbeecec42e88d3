// Package faults finds out what a governor does when something at its inputs
// fails.
package faults

import (
	"context"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure"
	"govrig/rig/phase"
	"govrig/sim/machine"
)

// Procedure is the whole test.
var Procedure = execution.Procedure{
	Name: "faults", Title: "Faults",
	Short: "Let pickup, stick, select line and supply fail, and see whether the governor is safe",
	Long: `Plays the machine's engine to the governor and lets it hold a speed under heavy
load. Then things go wrong, one after the other: missing, stray and doubled pickup
pulses, select pulses out of range, a restart of the governor, the pickup lost while
the speed is held, as a load goes off, and during the spool-up, the stick pulled low,
its lead or that of the select line off, a receiver's failsafe, and the governor
switched on with the stick up. Each begins with a governor shown to hold the speed.
With pickup or stick gone only a closed throttle is safe; else the speed held again,
too. Measures how long each is not safe, the highest speed, and where the throttle
ends up.`,
	Examples: []string{"faults mine.yaml --virtual"},
	Briefing: execution.Briefing{
		Purpose: "Finds out what the governor does when its pickup, its stick, its select line or its supply fails.",
		Connect: execution.LinesGoverned,
		Moves: []string{
			"the throttle servo, over its whole way and without warning: assume that a fault opens the throttle;",
			"take the linkage off, or leave it free",
		},
		Hurts: execution.HurtsStart,
	},
	Engine: true, Reads: execution.ReadsBlades, Calm: true,
	New: func() execution.Options { return new(Options) },
}

// Options are those of the test of faults.
type Options struct{ governed.AtSpeed }

// Measures are those that a run on the machine takes.
func (o *Options) Measures(m *machine.Machine) ([]measure.Declaration, error) {
	setting, err := o.Setting(m)
	if err != nil {
		return nil, err
	}
	return faultMeasures(faults(governed.New(m, setting), 0)), nil
}

// Run lets the governor hold a speed under heavy load and then does to it, one
// after the other, what can go wrong with its inputs.
func (o *Options) Run(ctx context.Context, b *execution.Bench) (*execution.Run, error) {
	setting, err := o.Setting(b.Machine)
	if err != nil {
		return nil, err
	}
	g := governed.New(b.Machine, setting)
	faults := faults(g, b.Connection.Baud)
	plan := execution.Plan{Name: Procedure.Name, Reads: Procedure.Reads, Options: o, Setting: setting, Declared: faultMeasures(faults)}
	settings := b.Settings(plan)
	settings.PickupWidth = execution.Seconds(pulseWidth(g))
	plan.Settings = &settings
	plan.Body = func(t *execution.Test) error { return run(t, g, faults) }
	return b.Run(ctx, plan)
}

// run does the faults, where the governor is shown to hold the speed.
func run(t *execution.Test, g *governed.Governor, faults []fault) error {
	f := &faulting{t: t, g: g}
	spool, held, err := g.TakeUp(t)
	if err != nil {
		return err
	}
	if !held {
		g.NotHeld(t, &spool, faultMeasures(faults))
		return nil
	}
	if g.Up != governed.GovernedStick {
		t.Found("The governor engages only above %.0f %% of the stick's travel: it did at %.0f %%, where the stick stands here.", 100*governed.GovernedStick, 100*g.Up)
	}
	from, to := spool.Span(phase.Of(phase.SpoolUp))
	f.spool = spool.Time[to-1] - spool.Time[from] - governed.SettleTime
	mark := t.Run.Trace.Mark()
	if f.holds, err = f.first(); err != nil {
		return err
	}
	if !f.holds {
		part := t.Run.Trace.Since(mark)
		governed.NotRun(t, faultMeasures(faults), "the governor was not shown to hold the set speed under the heavy load")
		g.Explain(t, g.Unheld(&part))
		return nil
	}
	return f.all(faults)
}
