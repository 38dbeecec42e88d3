package procedure

import (
	"context"

	"govrig/rig"
	"govrig/rig/measure/step"
)

// FaultsBriefing is what the person is told before Faults.
var FaultsBriefing = Briefing{
	Purpose: "Finds out what the governor does when its pickup, its stick, its select line or its supply fails.",
	Connect: linesGoverned,
	Moves: []string{
		"the throttle servo, over its whole way and without warning: assume that a fault opens the throttle;",
		"take the linkage off, or leave it free",
	},
	Hurts: hurtsStart,
}

// FaultsOptions are those of Faults.
type FaultsOptions struct {
	Speed string // name of the speed setting; empty is the first
}

// Faults lets the governor hold a speed under heavy load and then does to it,
// one after the other, what can go wrong with its inputs.
func Faults(ctx context.Context, b *Bench, o FaultsOptions) (*Run, error) {
	setting, err := choose(b.Machine, o.Speed)
	if err != nil {
		return nil, err
	}
	g := newGoverned(b.Machine, setting)
	faults := g.faults()
	declared := faultMeasures(faults)
	return b.run(ctx, plan{name: "faults", options: o, setting: setting, declared: declared, body: func(t *test) error {
		f := &faulting{t: t, g: g}
		spool, held, err := g.takeUp(t)
		if err != nil {
			return err
		}
		if !held {
			notRun(t, declared[:3*len(faults)], whyUnsteady)
			g.explain(t, g.unheld(&spool))
			return nil
		}
		from, to := spool.phase(phaseSpool)
		f.spool = spool.Time[to-1] - spool.Time[from] - settleTime
		return f.all(faults)
	}})
}

// Times of a fault, s.
const (
	calmTime  = 0.5 // of holding the speed before it
	watchTime = 3.0 // after it
	longWatch = 8.0 // after one from which the governor has to spool up
	lowTime   = 1.5 // of the stick going low to let the governor go
	offTime   = 0.5 // that the stand-in governor is off for a restart
)

// faulting is the procedure under way.
type faulting struct {
	t     *test
	g     *governed
	spool float64 // time that the first spool-up took, s
	shut  bool    // the last fault left the governor with its throttle shut, or lost
	done  int     // faults
	bad   int     // of them that were not safe
}

// all does every fault, and tells what to do about those that were not safe.
func (f *faulting) all(faults []fault) error {
	for i, x := range faults {
		ready, err := f.ready()
		if err != nil {
			return err
		}
		if !ready {
			f.abandoned(faults, i)
			break
		}
		if err := f.one(x); err != nil {
			return err
		}
	}
	f.conclude()
	return nil
}

// ready brings the governor back to holding the speed under heavy load: as it
// is, or by the stick going low and up again, or by a restart.
func (f *faulting) ready() (ok bool, err error) {
	if !f.shut {
		if ok, err = f.loaded(5); ok || err != nil {
			return ok, err
		}
	}
	if ok, err = f.again(); ok || err != nil {
		return ok, err
	}
	if ok, err = f.restart(); !ok || err != nil {
		return ok, err
	}
	return f.again()
}

// again lets the stick go low and up again.
func (f *faulting) again() (ok bool, err error) {
	g := f.g
	g.last.Stick = g.stick(0)
	low := g.load("stick low", float64(g.m.LoadStep.CollectiveLow), float64(g.m.LoadStep.Ramp), lowTime)
	g.last.Stick = g.stick(governedStick)
	_, ok, err = f.t.play(low, g.settled("up again", spoolLimit, settleHold))
	if !ok || err != nil {
		return false, err
	}
	return f.loaded(10)
}

// loaded puts the heavy load on and waits for a steady engine; a governor with
// droop may hold it below the wanted speed.
func (f *faulting) loaded(limit float64) (ok bool, err error) {
	g := f.g
	heavy := g.settled("heavy load", limit, settleHold)
	heavy.Collective, g.last.Collective = float64(g.m.LoadStep.CollectiveHigh), float64(g.m.LoadStep.CollectiveHigh)
	heavy.Ramp = steps(float64(g.m.LoadStep.Ramp))
	heavy.Settle.Above = (settleAbove - 0.1) * g.engine()
	_, ok, err = f.t.play(heavy)
	return ok, err
}

// one does one fault and reads what came of it.
func (f *faulting) one(x fault) error {
	what, err := x.play(f)
	if err != nil {
		return err
	}
	if what.why != "" {
		notRun(f.t, x.measures(), what.why)
		return nil
	}
	f.read(x, what)
	return nil
}

// aftermath is what a fault did.
type aftermath struct {
	part  Trace
	event float64 // when the clock starts, s
	speed float64 // that was held before, rpm
	why   string  // it could not be done; empty when it was
}

// steadyBefore is the speed that was held in the named phase.
func steadyBefore(part *Trace, name string) float64 {
	from, to := part.phase(name)
	return step.MeanSpeed(part.speed(from, to)).Value
}

// play plays the phases of a fault after a calm stretch. The clock starts at
// the phase named at.
func (f *faulting) play(name, at string, phases ...rig.Phase) (aftermath, error) {
	calm := f.calm("before " + name)
	part, _, err := f.t.play(append([]rig.Phase{calm}, phases...)...)
	s, err := f.after(part, at, err)
	if err == nil {
		s.speed = steadyBefore(&s.part, calm.Name)
	}
	return s, err
}

// after is what a played part shows, from the phase named at on.
func (f *faulting) after(part Trace, at string, err error) (aftermath, error) {
	if err != nil {
		return aftermath{}, err
	}
	part.calibrate(f.t.session)
	from, _ := part.phase(at)
	return aftermath{part: part, event: part.Time[from], speed: f.g.declared()}, nil
}

// calm is a stretch of holding the speed.
func (f *faulting) calm(name string) rig.Phase { return f.g.phase(name, calmTime) }
