package governed

import (
	"math"

	"govrig/rig"
	"govrig/rig/execution"
	"govrig/rig/finding"
	"govrig/rig/measure"
	"govrig/rig/measure/step"
	"govrig/rig/phase"
)

const (
	// restTime is the length of the newest stretch that has to be at rest, s.
	restTime = 5.0
	// RestLimit is how long is waited for that at most, s.
	RestLimit = 45.0
	// restWithin is how much of the declared speed may still be to come.
	restWithin = 0.002
)

// Rest plays a phase until the speed has settled, drift and all, for at least so
// many seconds, and gives the stretch in which it had. rested is false where it
// still moved at the end. The phase's own length does not count.
func (g *Governor) Rest(t *execution.Test, p rig.Phase, least float64) (stretch measure.Series, rested bool, err error) {
	least = max(least, restTime)
	p.Steps = execution.Steps(least + RestLimit)
	newest := func(part *execution.Trace) measure.Series {
		n := len(part.Time)
		return part.EngineSpeed(0, n).Between(part.Time[n-1]-restTime, math.Inf(1))
	}
	part, err := t.PlayUntil(p, func(part execution.Trace) bool {
		n := len(part.Time)
		looked := n%lookEvery == 0 && part.Time[n-1]-part.Time[0] >= least
		return looked && finding.Settled(newest(&part), restWithin*g.Declared())
	})
	if err != nil {
		return stretch, false, err
	}
	part.Calibrate(t.Session)
	stretch = newest(&part)
	g.tellStill(t, &part, stretch)
	return stretch, finding.Settled(stretch, restWithin*g.Declared()), nil
}

// lookEvery is how many samples lie between two looks.
const lookEvery = 25

// Seek tries select widths until the governor holds the wanted speed, or none
// brings it nearer, and leaves the best standing. held is false where the engine
// does not become steady; part is then what it did.
func (g *Governor) Seek(t *execution.Test) (s Search, part execution.Trace, held bool, err error) {
	s = g.Search()
	if !s.Follows() {
		part, held, err = g.seekSet(t, &s)
		return s, part, held, err
	}
	for {
		width, more := s.Next()
		if !more {
			break
		}
		if part, held, err = g.try(t, &s, width); !held || err != nil {
			return s, part, held, err
		}
	}
	if best := s.Best(); best != s.Tries[len(s.Tries)-1] {
		g.Orders.Select = execution.Seconds(best.Width)
		part, held, err = t.Play(g.Settled(g.Key(phase.Settling), SpoolLimit, SettleHold))
		if held && err == nil {
			_, s.Rested, err = g.Rest(t, g.Phase(g.Key(phase.Rest), 0), 0)
		}
	}
	if held && err == nil {
		err = g.fromBeyond(t, &s)
	}
	return s, part, held, err
}

// beyond is how far beyond the wanted speed the best width is come back to from, a
// share of the wanted speed.
const beyond = 0.05

// fromBeyond comes back to the best width from either side, where none came as near
// the wanted speed as they should: what then holds two speeds has a dead band, and not
// steps of its setting.
func (g *Governor) fromBeyond(t *execution.Test, s *Search) (err error) {
	if s.reached() || !s.Rested || s.Swings {
		return nil
	}
	best := s.Best()
	least, most := best.Speed, best.Speed
	for i, side := range []float64{1, -1} {
		past := s.round(best.Width + side*beyond*s.Wanted/s.slope)
		for j, width := range []float64{past, best.Width} {
			g.Orders.Select = execution.Seconds(width)
			key := g.Key(phase.Rest)
			key.Number = 2*i + j + 1
			stretch, rested, err := g.Rest(t, g.Phase(key, 0), 0)
			if err != nil {
				return err
			}
			speed := step.MeanSpeed(stretch).Value
			if j == 1 && rested && !creeps(stretch, best.Speed-speed) {
				least, most = math.Min(least, speed), math.Max(most, speed)
			}
		}
	}
	if most-least > 2*sameSpeed*s.Wanted {
		g.DeadBand = math.Max(g.DeadBand, (most-least)/2/s.Wanted)
		g.tellDeadBand(t)
	}
	return nil
}

// creeps reports whether a speed that passes for rest still moves, to or fro: at its
// pace by a quarter of what it is off within creepTime. A dead band lets it stay.
func creeps(stretch measure.Series, off float64) bool {
	end := stretch.T[stretch.Len()-1]
	half := (end - stretch.T[0]) / 2
	pace := (stretch.Between(end-half, math.Inf(1)).Mean() - stretch.Between(0, end-half).Mean()) / half
	return math.Abs(pace)*creepTime > math.Abs(off)/4
}

const creepTime = 30.0 // s

// tellStill says that the throttle stands still while the speed of a stretch at rest
// moves, where it does: such a governor minds no change as small.
func (g *Governor) tellStill(t *execution.Test, part *execution.Trace, stretch measure.Series) {
	n := len(part.Throttle)
	throttle := g.Shares(part.Throttle[n-stretch.Len():])
	low, high := stretch.Extent()
	moved := (high - low) / g.Declared()
	found, next, still := finding.StandsStill(throttle, moved)
	if !still {
		return
	}
	g.DeadBand = math.Max(g.DeadBand, moved/2)
	t.FoundOnce("%s", found)
	t.Next("%s", next)
}

// try holds a select width until the speed is at rest, and notes it.
func (g *Governor) try(t *execution.Test, s *Search, width float64) (part execution.Trace, held bool, err error) {
	g.Orders.Select = execution.Seconds(width)
	try, settle := g.Key(phase.Try), g.Key(phase.Settling)
	try.Number = len(s.Tries) + 1
	settle.Of, settle.Number = string(phase.Try), try.Number
	settled := g.Settled(settle, SpoolLimit, SettleHold)
	settled.Settle.Above = min(settled.Settle.Above, 0.8*float64(g.Machine.Governor.SpeedLow)) // a try may be far below
	part, held, err = t.Play(settled)
	if err != nil || !held {
		return part, held, err
	}
	mark := t.Run.Trace.Mark()
	stretch, rested, err := g.Rest(t, g.Phase(try, 0), 0)
	if err != nil {
		return part, false, err
	}
	if s.Rested = rested; !rested {
		all := t.Run.Trace.Since(mark)
		if swing := g.Hunts(&all, 0, len(all.Time), g.Orders.Collective); swing.Hunting() {
			s.Swings, stretch = true, all.EngineSpeed(0, len(all.Time))
		}
	}
	s.Tries = append(s.Tries, Attempt{Width: width, Speed: step.MeanSpeed(stretch).Value})
	return part, true, nil
}
