package execution

import (
	"errors"
	"fmt"

	"govrig/rig"
	"govrig/sim"
)

// triesAgain is how often phases are played again at most.
const triesAgain = 3

// again is what playing phases again needs to know.
type again struct {
	plant func(step float64) sim.Plant // of the loop
	lead  []rig.Phase                  // that the loop began with: they engage the governor
	stand rig.Phase                    // the last of the phases before
	spent bool                         // three times were not enough: nothing is played again
}

// played is how phases were played.
type played struct {
	part    Trace
	settled bool // the engine became steady where one of them waited for that
	health  rig.Health
	void    string // why one of them cannot be judged, or nothing
	phase   int    // which, in the trace
}

// Play plays phases and gives the part of the trace that they made. settled is
// false when one of them waited in vain for a steady engine.
//
// Where one of them is void, all are played again, three times at most, from the
// orders that stood before; after a failsafe the governor is engaged anew first.
func (t *Test) Play(phases ...rig.Phase) (part Trace, settled bool, err error) {
	for n := 0; ; n++ {
		p, err := t.playOnce(phases...)
		failsafe := errors.Is(err, rig.ErrFailsafe)
		if err != nil && !failsafe {
			t.Health.Add(p.health)
			return p.part, p.settled, err
		}
		if failsafe {
			p.void, p.phase = "the computer kept the board waiting, and it went to its safe state", len(t.Run.Trace.Phases)-1
		}
		t.again.spent = t.again.spent || p.void != "" && n == triesAgain
		if p.void == "" || t.again.spent {
			t.Health.Add(p.health)
			t.played(phases)
			return p.part, p.settled, err
		}
		t.tellVoid(&p)
		if err := t.standAgain(failsafe); err != nil {
			return p.part, p.settled, err
		}
	}
}

// played notes phases that were played.
func (t *Test) played(phases []rig.Phase) {
	if t.again.lead == nil {
		t.again.lead = phases
	}
	t.again.stand = phases[len(phases)-1]
	t.again.stand.Faults, t.again.stand.Ramp = nil, 0
}

// tellVoid says that phases are void, and marks them in the trace.
func (t *Test) tellVoid(p *played) {
	name := t.Run.Trace.Phases[p.phase].String()
	t.Sheet.Warn("%s was played again: %s", name, p.void)
	t.Bench.Tell(fmt.Sprintf("%s is void and is played again: %s.", name, p.void))
	if len(p.part.Phase) > 0 {
		for i := p.part.Phase[0]; i < len(t.Run.Trace.Phases); i++ {
			t.Run.Trace.Phases[i].Void = true
		}
	}
}

// standAgain goes back to where the phases began: by the orders that stood before
// them, or, where there were none or the board went to its safe state, from the
// start.
func (t *Test) standAgain(failsafe bool) error {
	again, done := t.again, t.done
	t.done = nil
	defer func() { t.done = done }()
	if !failsafe && again.lead != nil {
		_, err := t.playOnce(again.stand)
		return err
	}
	if err := t.Session.Again(t.ctx); err != nil {
		return err
	}
	t.Use(again.plant)
	if again.lead == nil {
		return nil
	}
	_, err := t.playOnce(append(again.lead[:len(again.lead):len(again.lead)], again.stand)...)
	t.again.lead, t.again.stand = again.lead, again.stand
	return err
}
