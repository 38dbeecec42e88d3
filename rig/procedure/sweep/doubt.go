package sweep

import (
	"fmt"
	"math"

	"govrig/rig"
	"govrig/rig/execution"
	"govrig/rig/measure"
)

const (
	// leastPhase is the least phase margin, degrees, that sweep asks for.
	leastPhase = 30.0
	// marginDoubt is how far, in degrees, the scatter of the rig's own delay
	// may move a phase margin with nothing being said of it.
	marginDoubt = 1.0
)

// delaySpread is the standard deviation of the loop delay, s, since before.
func delaySpread(t *execution.Test, before rig.Health) float64 {
	since := rig.Health{
		Delays: t.Health.Delays - before.Delays, DelaySum: t.Health.DelaySum - before.DelaySum,
		DelaySquares: t.Health.DelaySquares - before.DelaySquares,
	}
	return since.LoopDelaySpread() / float64(t.Session.Identity.TickHz)
}

// doubt works out how far the scatter of the loop delay may have moved the
// phase margin, and says so with the margin where that is much. A delay d turns
// the phase at the angular frequency ω by ω·d, here at the crossover. The mean
// delay is no part of it: the pulses are placed ahead by it.
func (p *SweepPoint) doubt() {
	if !p.Margins.Crossover.OK() || !p.Margins.Phase.OK() {
		return
	}
	p.Doubt = p.Margins.Crossover.Value * p.spread * execution.Degrees
	if p.Doubt > marginDoubt {
		p.Margins.Phase.Warnings = append(p.Margins.Phase.Warnings, fmt.Sprintf(
			"may be off by %.2g°: the rig's own delay scattered by %.2g ms", p.Doubt, 1e3*p.spread))
	}
}

// judgeDoubt makes it the rig's error where the doubt decides over the limit.
func (p *SweepPoint) judgeDoubt(sheet *measure.Sheet) {
	if p.Doubt > marginDoubt && math.Abs(p.Margins.Phase.Value-leastPhase) < p.Doubt {
		sheet.Break("the rig was not good enough to judge the governor: its own delay scattered so much that "+
			"phase_margin_%s may be on either side of its limit; close other programs, use a good cable, and run it again", p.Name)
	}
}
