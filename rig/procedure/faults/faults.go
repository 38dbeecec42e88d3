package faults

import (
	"govrig/rig"
	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure/step"
	"govrig/rig/phase"
)

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
	t     *execution.Test
	g     *governed.Governor
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
	g.Orders.Stick = g.Stick(0)
	low := g.Load(phase.Of("stick low"), float64(g.Machine.LoadStep.CollectiveLow), float64(g.Machine.LoadStep.Ramp), lowTime)
	g.Orders.Stick = g.Stick(governed.GovernedStick)
	_, ok, err = f.t.Play(low, g.Settled(phase.Of("up again"), governed.SpoolLimit, governed.SettleHold))
	if !ok || err != nil {
		return false, err
	}
	return f.loaded(10)
}

// loaded puts the heavy load on and waits for a steady engine; a governor with
// droop may hold it below the wanted speed.
func (f *faulting) loaded(limit float64) (ok bool, err error) {
	g := f.g
	heavy := g.Settled(phase.Of(phase.Heavy), limit, governed.SettleHold)
	heavy.Collective, g.Orders.Collective = float64(g.Machine.LoadStep.CollectiveHigh), float64(g.Machine.LoadStep.CollectiveHigh)
	heavy.Ramp = execution.Steps(float64(g.Machine.LoadStep.Ramp))
	heavy.Settle.Above = (governed.SettleAbove - 0.1) * g.Engine()
	_, ok, err = f.t.Play(heavy)
	return ok, err
}

// one does one fault and reads what came of it.
func (f *faulting) one(x fault) error {
	what, err := x.play(f)
	if err != nil {
		return err
	}
	if what.why != "" {
		governed.NotRun(f.t, x.measures(), what.why)
		return nil
	}
	f.read(x, what)
	return nil
}

// aftermath is what a fault did.
type aftermath struct {
	part  execution.Trace
	event float64 // when the clock starts, s
	speed float64 // that was held before, rpm
	why   string  // it could not be done; empty when it was
}

// steadyBefore is the speed that was held in the named phase.
func steadyBefore(part *execution.Trace, key phase.Key) float64 {
	from, to := part.Span(key)
	return step.MeanSpeed(part.EngineSpeed(from, to)).Value
}

// play plays the phases of a fault after a calm stretch. The clock starts at
// the phase named at.
func (f *faulting) play(name string, at phase.Key, phases ...rig.Phase) (aftermath, error) {
	calm := f.calm(name)
	part, _, err := f.t.Play(append([]rig.Phase{calm}, phases...)...)
	s, err := f.after(part, at, err)
	if err == nil {
		s.speed = steadyBefore(&s.part, calm.Key)
	}
	return s, err
}

// after is what a played part shows, from the phase named at on.
func (f *faulting) after(part execution.Trace, at phase.Key, err error) (aftermath, error) {
	if err != nil {
		return aftermath{}, err
	}
	part.Calibrate(f.t.Session)
	from, _ := part.Span(at)
	return aftermath{part: part, event: part.Time[from], speed: f.g.Declared()}, nil
}

// calm is a stretch of holding the speed before a fault.
func (f *faulting) calm(fault string) rig.Phase { return f.g.Phase(before(fault), calmTime) }

// Keys of the phases of a fault: the way to it, itself, and what follows.
func before(fault string) phase.Key { return phase.Key{Kind: phase.Before, Of: fault} }
func during(fault string) phase.Key { return phase.Key{Kind: phase.Fault, Of: fault} }
func after(fault string) phase.Key  { return phase.Key{Kind: phase.After, Of: fault} }
