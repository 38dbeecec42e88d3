package rig

import "math"

// Notice gives a phase to be played before the next one is, when that changes where
// the pickup pulses go: the orders that stand go on for as long as the board goes by
// older news, so that every pulse after the change is placed knowing of it. ok is
// false where the next changes nothing of the kind.
func (l *Loop) Notice(next *Phase) (hold Phase, ok bool) {
	n := len(l.script.Phases)
	if n == 0 || !next.moves(&l.script.Phases[n-1]) {
		return hold, false
	}
	hold = l.script.Phases[n-1]
	hold.Steps, hold.Ramp, hold.Sway, hold.Settle, hold.Faults = l.notice(), 0, nil, nil, nil
	return hold, true
}

// notice is that time in steps: as old as news in force is at most, and some more.
func (l *Loop) notice() int64 {
	oldest := l.answers.oldest + l.answers.lead() - l.answers.delay
	return int64(math.Ceil(oldest / float64(l.setup.StepTicks)))
}
