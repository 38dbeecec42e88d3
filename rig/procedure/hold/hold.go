package hold

import (
	"fmt"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure/step"
)

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
func hold(g *governed.Governor, t *execution.Test, time float64) (part execution.Trace, held bool, err error) {
	s := g.Search()
	if part, held, err = search(g, t, &s); !held || err != nil {
		return part, held, err
	}
	load := g.Machine.LoadStep
	part, held, err = t.Play(
		g.Phase(g.Name(governed.PhaseSteady), time),
		g.Load(g.Name(phaseLoaded), float64(load.CollectiveHigh), float64(load.Ramp), heavySettle),
		g.Phase(g.Name(phaseHeavy), time),
		g.Load(g.Name("light again"), float64(load.CollectiveLow), float64(load.Ramp), 1),
	)
	if err != nil || !held {
		return part, held, err
	}
	part.Calibrate(t.Session)
	g.ReadSteady(t, &part)
	readHold(g, t, &part, &s)
	return part, true, nil
}

// search tries select widths and leaves the best one standing, steady.
func search(g *governed.Governor, t *execution.Test, s *governed.Search) (part execution.Trace, held bool, err error) {
	for {
		width, more := s.Next()
		if !more {
			return settleAt(g, t, s)
		}
		g.Orders.Select = execution.Seconds(width)
		name := g.Name(fmt.Sprintf("try %d", len(s.Tries)+1))
		part, held, err = t.Play(g.Settled("settle, "+name, governed.SpoolLimit, governed.SettleHold), g.Phase(name, tryTime))
		if err != nil || !held {
			return part, held, err
		}
		part.Calibrate(t.Session)
		from, to := part.Span(name)
		s.Tries = append(s.Tries, governed.Attempt{width, step.MeanSpeed(part.EngineSpeed(from, to)).Value})
	}
}

// settleAt goes back to the best width, if that was not the last.
func settleAt(g *governed.Governor, t *execution.Test, s *governed.Search) (part execution.Trace, held bool, err error) {
	best := s.Best()
	if best == s.Tries[len(s.Tries)-1] {
		return part, true, nil
	}
	g.Orders.Select = execution.Seconds(best.Width)
	return t.Play(g.Settled(g.Name("settle"), governed.SpoolLimit, governed.SettleHold))
}
