package faults

import (
	"govrig/rig"
	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/finding"
	"govrig/rig/phase"
)

// faulting is the procedure under way.
type faulting struct {
	t      *execution.Test
	g      *governed.Governor
	spool  float64 // time that the first spool-up took, s
	own    float64 // time that it takes from idling to the set speed under heavy load, s
	set    float64 // engine speed that is held under the heavy load, rpm
	wander float64 // how far it strays from there by itself, rpm
	deaf   bool    // it was seen to answer a large change of speed and not a small one
	idle   float64 // throttle with the stick low, share of the travel

	holds  bool   // the governor holds the set speed, and was just shown to
	before string // the fault before, in words; empty is none yet
	tally  tally
}

// all does every fault, each from a governor shown healthy.
func (f *faulting) all(faults []fault) error {
	for i := range faults {
		ready, err := f.ready()
		if err != nil {
			return err
		}
		if !ready {
			f.abandoned(faults[i:])
			break
		}
		if err := f.one(&faults[i]); err != nil {
			return err
		}
		f.before = faults[i].what
	}
	f.conclude()
	return nil
}

// one does one fault and reads what came of it.
func (f *faulting) one(x *fault) error {
	f.holds = false
	what, err := x.play(f, x)
	f.g.Orders.Stick = f.up()
	if err != nil {
		return err
	}
	if what.why != "" {
		governed.NotRun(f.t, x.measures(), what.why)
		return nil
	}
	f.read(x, &what)
	return nil
}

// aftermath is what a fault did.
type aftermath struct {
	part   execution.Trace
	event  float64            // when the clock starts, s
	turns  float64            // when the engine begins to turn, s: before, its speed is no one's
	answer finding.Engagement // of the throttle, once the set speed is back
	why    string             // it could not be done; empty when it was
}

// play plays the phases of a fault after a calm stretch, and for a fault that may
// be ridden through what follows, watched. The clock starts at the phase named at.
func (f *faulting) play(x *fault, name string, at phase.Key, phases ...rig.Phase) (s aftermath, err error) {
	part, calm := f.recording(), f.calm(name)
	if _, _, err = f.t.Play(append([]rig.Phase{calm}, phases...)...); err != nil {
		return s, err
	}
	s.part = part()
	if !x.shuts {
		f.g.Orders.Stick = phases[len(phases)-1].Stick
		if err = f.watch(x, name, &s, part); err != nil {
			return s, err
		}
	}
	if from, to := s.part.Span(calm.Key); !f.fit(&s.part, from, to) {
		s.why = "the governor did not hold the set speed just before"
	}
	f.clock(&s, at)
	return s, nil
}

// recording gives, whenever it is called, what has been played from now on.
func (f *faulting) recording() func() execution.Trace {
	mark := f.t.Run.Trace.Mark()
	return func() execution.Trace { return f.t.Run.Trace.Since(mark) }
}

// clock starts the clock at a phase.
func (f *faulting) clock(s *aftermath, at phase.Key) {
	s.part.Calibrate(f.t.Session)
	from, _ := s.part.Span(at)
	s.event = s.part.Time[from]
}

// watch plays on after a fault until the set speed has been held again for some
// time, or else for longer than the limit; then, where it is held, it looks whether
// the throttle answers. Where it does not, that too is watched for longer than the
// limit.
func (f *faulting) watch(x *fault, name string, s *aftermath, part func() execution.Trace) (err error) {
	p := f.g.Phase(after(name), x.watched(f.own))
	if _, err = f.t.PlayUntil(p, func(part execution.Trace) bool { return f.lately(&part, heldTime) }); err != nil {
		return err
	}
	if s.part = part(); !f.lately(&s.part, calmTime) {
		s.answer.Why = "the throttle stood at an end of its travel"
		return nil
	}
	if s.answer, err = f.answers(); err != nil || s.answer.Verdict == finding.Yes {
		return err
	}
	_, _, err = f.t.Play(p)
	s.part = part()
	return err
}

// watched is how long a fault is watched for, s, with a governor that takes so long for
// its own way up.
func (x *fault) watched(own float64) float64 { return x.grace(own) + x.within + margin }

// grace is the time that does not count, s: after a fault from which the governor has
// to find its way back, as long as it takes for its own way up.
func (x *fault) grace(own float64) float64 {
	if x.returns {
		return own
	}
	return 0
}

// calm is a stretch of holding the speed before a fault.
func (f *faulting) calm(fault string) rig.Phase { return f.g.Phase(before(fault), calmTime) }

// Keys of the phases of a fault: the way to it, itself, and what follows.
func before(fault string) phase.Key { return phase.Key{Kind: phase.Before, Of: fault} }
func during(fault string) phase.Key { return phase.Key{Kind: phase.Fault, Of: fault} }
func after(fault string) phase.Key  { return phase.Key{Kind: phase.After, Of: fault} }
