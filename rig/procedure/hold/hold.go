package hold

import (
	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure/step"
	"govrig/rig/phase"
)

// tryTime is how long a select width is tried once the engine is steady, s.
const tryTime = 2.0

// heavySettle is how long the heavy load settles before it is read, s.
const heavySettle = 4.0

// hold measures one setting. held is false when the governor does not hold it;
// part then shows what it does.
func hold(g *governed.Governor, t *execution.Test, time float64) (part execution.Trace, held bool, err error) {
	s := g.Search()
	if part, held, err = search(g, t, &s); !held || err != nil {
		return part, held, err
	}
	load := g.Machine.LoadStep
	part, held, err = t.Play(
		g.Phase(g.Key(phase.Steady), time),
		g.Load(g.Key(phase.LoadComes), float64(load.CollectiveHigh), float64(load.Ramp), heavySettle),
		g.Phase(g.Key(phase.Heavy), time),
		g.Load(g.Key(phase.LightAgain), float64(load.CollectiveLow), float64(load.Ramp), 1),
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
		try, settle := g.Key("try"), g.Key(phase.Settling)
		try.Number = len(s.Tries) + 1
		settle.Of, settle.Number = "try", try.Number
		part, held, err = t.Play(g.Settled(settle, governed.SpoolLimit, governed.SettleHold), g.Phase(try, tryTime))
		if err != nil || !held {
			return part, held, err
		}
		part.Calibrate(t.Session)
		from, to := part.Span(try)
		s.Tries = append(s.Tries, governed.Attempt{Width: width, Speed: step.MeanSpeed(part.EngineSpeed(from, to)).Value})
	}
}

// settleAt goes back to the best width, if that was not the last.
func settleAt(g *governed.Governor, t *execution.Test, s *governed.Search) (part execution.Trace, held bool, err error) {
	best := s.Best()
	if best == s.Tries[len(s.Tries)-1] {
		return part, true, nil
	}
	g.Orders.Select = execution.Seconds(best.Width)
	return t.Play(g.Settled(g.Key(phase.Settling), governed.SpoolLimit, governed.SettleHold))
}
