package rig

import (
	"time"

	"govrig/protocol"
)

// Phase is a stretch of a run with constant orders. Its length is counted in
// plant steps, so that phases join without gaps.
type Phase struct {
	// Name is what the record and the screen call it.
	Name string
	// Steps is how many plant steps it lasts.
	Steps int64
	// Stick and Select are the widths of the receiver's pulses; 0 leaves the
	// line low.
	Stick, Select time.Duration
	// Collective is the blade pitch, rad, reached at the end of Ramp steps
	// from that of the phase before.
	Collective float64
	// Ramp is over how many steps the collective moves; 0 is at once.
	Ramp int64
	// Settle, when set, ends the phase early, as soon as the engine has become
	// steady; when it has not by the phase's last step, the run ends there.
	Settle *Settle
	// Faults are ordered once, at the phase's first drive.
	Faults []protocol.Fault
}

// Settle is what a steady engine speed is.
type Settle struct {
	// Above is the least engine speed, rad/s.
	Above float64
	// Band is how far the speed may stray from where it was, as a share.
	Band float64
	// For is how many steps it must stay there.
	For int64
}

// Script is a run as a sequence of phases. What it orders is known ahead, so
// that the loop can look ahead with it.
type Script struct {
	// Phases in order.
	Phases []Phase
}

// Steps is the length of the whole script.
func (s *Script) Steps() (n int64) {
	for i := range s.Phases {
		n += s.Phases[i].Steps
	}
	return n
}

// Start gives the step at which the named phase begins.
func (s *Script) Start(name string) (step int64, ok bool) {
	for i := range s.Phases {
		if s.Phases[i].Name == name {
			return step, true
		}
		step += s.Phases[i].Steps
	}
	return 0, false
}

// cursor walks along a script. It is small and is copied to look ahead.
type cursor struct {
	phase int
	start int64 // first step of phase
}

// at moves to the phase of step, which may not lie before the present phase,
// and gives it; after the end it stays in the last.
func (c *cursor) at(s *Script, step int64) *Phase {
	for c.phase < len(s.Phases)-1 && step >= c.start+s.Phases[c.phase].Steps {
		c.start += s.Phases[c.phase].Steps
		c.phase++
	}
	return &s.Phases[c.phase]
}

// collective is the blade pitch at step, rad.
func (c *cursor) collective(s *Script, step int64) float64 {
	p := c.at(s, step)
	since := step - c.start
	if since >= p.Ramp || c.phase == 0 {
		return p.Collective
	}
	from := s.Phases[c.phase-1].Collective
	return from + (p.Collective-from)*float64(since)/float64(p.Ramp)
}
