package hunting

import (
	"math"

	"govrig/rig/measure"
	"govrig/rig/measure/loop"
)

// marginsOf are the margins of the loop that is known, or nil.
func marginsOf(k Known) *loop.Margins {
	if k.Loop == nil {
		return nil
	}
	m, err := loop.MarginsOf(k.Loop, k.Band)
	if err != nil || !m.Phase.OK() && !m.Gain.OK() {
		return nil
	}
	return &m
}

const turn = 2 * math.Pi

// small asks whether the measured loop has next to no margin, and would swing
// at the frequency that was seen.
func small(f Finding, m *loop.Margins) Cause {
	if m == nil {
		return untold(Margin)
	}
	e := Evidence{Phase: m.Phase, Gain: m.Gain}
	weight := 0.0
	if m.Phase.OK() {
		e.Frequency = measure.Read(m.Crossover.Value / turn)
		weight = tight(m.Phase.Value, 5, 20) * near(f.Frequency, e.Frequency.Value, m.Phase.Value < 0)
	}
	if m.Gain.OK() {
		at, db := m.PhaseCrossover.Value/turn, loop.Decibels(m.Gain.Value)
		if w := tight(db, 1, 4) * near(f.Frequency, at, db < 0); w > weight {
			weight, e.Frequency = w, measure.Read(at)
		}
	}
	return weighed(Margin, weight, e)
}

// enough is the phase margin, degrees, of a loop that does not hunt by itself.
const enough = 30.0

// late asks whether it is the delay of governor and frames that takes the
// margin: without it there would be enough, and it turns the phase by as much
// as is missing.
func late(f Finding, k Known, m *loop.Margins) Cause {
	if m == nil || !m.Phase.OK() || k.Delay <= 0 {
		return untold(Late)
	}
	turned := k.Delay * m.Crossover.Value * 180 / math.Pi
	e := Evidence{
		Phase: m.Phase, Turned: measure.Read(turned), Frequency: measure.Read(m.Crossover.Value / turn),
	}
	weight := 0.0
	if m.Phase.Value+turned >= enough && turned >= enough/2 {
		// Behind the margin itself: it says no more than what makes it small.
		weight = 0.9 * tight(m.Phase.Value, 5, 20) * near(f.Frequency, e.Frequency.Value, m.Phase.Value < 0)
	}
	return weighed(Late, weight, e)
}

const (
	leastAtEnds = 0.1 // of the time, below which it is a passing touch
	muchAtEnds  = 0.4 // from which on it is all of the evidence that it can be
)

// windUp asks whether the throttle stands at its ends though the loop has
// margin enough: then it is not the gain that drives it there. A loop without
// margin swings up to the ends as well; that is no evidence.
func windUp(k Known, m *loop.Margins, s swing) Cause {
	if !s.ok || k.High == k.Low {
		return untold(WindUp)
	}
	e := Evidence{AtEnds: measure.Read(s.atEnds).With("of the window")}
	if s.atEnds < leastAtEnds {
		return weighed(WindUp, 0, e)
	}
	if m == nil || !m.Phase.OK() {
		return untold(WindUp)
	}
	e.Phase, e.Gain = m.Phase, m.Gain
	weight := (1 - tight(m.Phase.Value, 20, enough)) * math.Min(1, s.atEnds/muchAtEnds)
	if m.Gain.OK() {
		weight *= 1 - tight(loop.Decibels(m.Gain.Value), 4, 6)
	}
	return weighed(WindUp, weight, e)
}

// near is how well a frequency fits the one that the linear loop says. An
// unstable loop swings for certain, until servo and throttle are at their ends, which
// slows it and may have only every second or third swing alike.
func near(seen, linear float64, unstable bool) float64 {
	if unstable && seen < linear {
		return math.Max(0.5, likeness(seen, linear, 1))
	}
	return likeness(seen, linear, 0.4)
}

// tight is 1 for a margin of no more than little, and 0 from plenty on.
func tight(margin, little, plenty float64) float64 {
	return math.Max(0, math.Min(1, (plenty-margin)/(plenty-little)))
}
