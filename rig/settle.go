package rig

import "math"

// settle ends the present phase when the engine has become steady, and the
// script when it has not at the phase's end.
func (l *Loop) settle(speed float64) {
	phase := l.at.at(&l.script, l.step)
	if phase.Settle == nil {
		return
	}
	done := l.step + 1 - l.at.start // steps of this phase
	switch {
	case l.settling.steady(phase.Settle, l.at.phase, done, speed):
		phase.Steps = done
		if next := l.at.phase + 1; next < len(l.script.Phases) && l.script.Phases[next].moves(phase) {
			phase.Steps, phase.Settle = done+l.notice(), nil
		}
	case done == phase.Steps:
		l.settling.failed = true
		l.script.Phases = l.script.Phases[:l.at.phase+1]
	default:
		return
	}
	l.future.holds = false
}

// settling watches for a steady engine speed.
type settling struct {
	phase  int
	since  int64 // step of the phase at which the speed was last given up
	speed  float64
	failed bool
}

// steady takes in the speed after done steps of the phase and reports whether it
// has stayed where it was for long enough.
func (s *settling) steady(want *Settle, phase int, done int64, speed float64) bool {
	stray := math.Abs(speed-s.speed) > want.Band*s.speed
	if phase != s.phase || stray || speed < want.Above {
		s.phase, s.since, s.speed = phase, done, speed
	}
	return done-s.since >= want.For
}
