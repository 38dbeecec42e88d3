package procedure

import (
	"context"
	"fmt"

	"govrig/rig/measure"
	"govrig/rig/measure/step"
)

// HoldOptions are those of Hold.
type HoldOptions struct {
	// Speed is the name of the speed setting; empty is the first, AllSpeeds
	// every one.
	Speed string
	Time  float64 // how long to hold each setting, s
}

// Hold runs the engine up and, at each speed setting, finds the select width
// that gives it, holds it under the low collective of the machine's load step,
// and then under the high one.
func Hold(ctx context.Context, b *Bench, o HoldOptions) (*Run, error) {
	settings, err := chooseSeveral(b.Machine, o.Speed)
	if err != nil {
		return nil, err
	}
	several := len(settings) > 1
	var declared []measure.Declaration
	for _, s := range settings {
		declared = append(declared, suffixed(holdMeasures(b.Machine, s), s, several)...)
	}
	return b.run(ctx, plan{name: "hold", options: o, setting: only(settings), declared: declared, body: func(t *test) error {
		g := newGoverned(b.Machine, settings[0])
		part, held, err := g.takeUp(t)
		for i, s := range settings {
			g.to(s, several)
			if held && err == nil {
				part, held, err = g.hold(t, o.Time)
			}
			if err != nil {
				return err
			}
			if !held {
				g.holdsNot(t, &part)
				notRun(t, declared[(i+1)*len(declared)/len(settings):], fmt.Sprintf("the governor did not hold %q before it", s.Name))
				return nil
			}
		}
		t.next("Give the select channel the travel found for each setting, and confirm it on the bench with the real transmitter.")
		return nil
	}})
}

// tryTime is how long a select width is tried once the engine is steady, s.
const tryTime = 2.0

// heavySettle is how long the heavy load settles before it is read, s.
const heavySettle = 4.0

// Phases of the heavy load.
const (
	phaseLoaded = "load comes on"
	phaseHeavy  = "heavy load"
)

// hold measures one setting. held is false when the governor does not hold it;
// part then shows what it does.
func (g *governed) hold(t *test, time float64) (part Trace, held bool, err error) {
	s := g.seek()
	if part, held, err = g.search(t, &s); !held || err != nil {
		return part, held, err
	}
	load := g.m.LoadStep
	part, held, err = t.play(
		g.phase(g.name(phaseSteady), time),
		g.load(g.name(phaseLoaded), float64(load.CollectiveHigh), float64(load.Ramp), heavySettle),
		g.phase(g.name(phaseHeavy), time),
		g.load(g.name("light again"), float64(load.CollectiveLow), float64(load.Ramp), 1),
	)
	if err != nil || !held {
		return part, held, err
	}
	part.calibrate(t.session)
	g.readSteady(t, &part)
	g.readHold(t, &part, &s)
	return part, true, nil
}

// search tries select widths and leaves the best one standing, steady.
func (g *governed) search(t *test, s *seeking) (part Trace, held bool, err error) {
	for {
		width, more := s.next()
		if !more {
			return g.settleAt(t, s)
		}
		g.last.Select = seconds(width)
		name := g.name(fmt.Sprintf("try %d", len(s.tries)+1))
		part, held, err = t.play(g.settled("settle, "+name, spoolLimit, settleHold), g.phase(name, tryTime))
		if err != nil || !held {
			return part, held, err
		}
		part.calibrate(t.session)
		from, to := part.phase(name)
		s.tries = append(s.tries, attempt{width, step.MeanSpeed(part.speed(from, to)).Value})
	}
}

// settleAt goes back to the best width, if that was not the last.
func (g *governed) settleAt(t *test, s *seeking) (part Trace, held bool, err error) {
	best := s.best()
	if best == s.tries[len(s.tries)-1] {
		return part, true, nil
	}
	g.last.Select = seconds(best.width)
	return t.play(g.settled(g.name("settle"), spoolLimit, settleHold))
}
