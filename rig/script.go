package rig

import (
	"math"
	"time"

	"govrig/protocol"
	"govrig/rig/phase"
	"govrig/sim"
)

// Phase is a stretch of a run with constant orders. Its length is counted in
// plant steps, so that phases join without gaps.
type Phase struct {
	// Name is what the record and the screen call it: its key in words.
	Name string `json:"name"`
	// Key is what it is.
	Key phase.Key `json:"key,omitzero"`
	// Steps is how many plant steps it lasts.
	Steps int64 `json:"steps"`
	// Mute plays no pickup pulses, whatever the plant does.
	Mute bool `json:"mute,omitempty"`
	// Stick and Select are the widths of the receiver's pulses; 0 leaves the
	// line low.
	Stick  time.Duration `json:"stick_ns"`
	Select time.Duration `json:"select_ns"`
	// Collective is the blade pitch, rad, and Turn the speed at which a plant
	// without an engine is turned, rad/s. Both are reached at the end of Ramp
	// steps from those of the phase before; with a Ramp of 0 at once.
	Collective float64 `json:"collective_rad"`
	Turn       float64 `json:"turn_rad_s,omitempty"`
	Ramp       int64   `json:"ramp_steps,omitempty"`
	// Sway is played on top of the engine's own speed: the governor sees an
	// engine that sways, whatever the plant does. It ends with a whole cycle, and a
	// phase without it is to be known by then.
	Sway []Sine `json:"sway,omitempty"`
	// Settle, when set, ends the phase early, as soon as the engine has become
	// steady; when it has not by the phase's last step, the run ends there.
	Settle *Settle `json:"settle,omitempty"`
	// Faults are ordered once, at the phase's first drive.
	Faults []protocol.Fault `json:"faults,omitempty"`
}

// moves reports whether the pickup pulses go another way from this phase's start than
// they would have under the phase before: the load or the speed is changed, or a sway
// begins or ends.
func (p *Phase) moves(before *Phase) bool {
	return !p.Mute && !before.Mute &&
		(p.Collective != before.Collective || p.Turn != before.Turn || len(p.Sway)+len(before.Sway) > 0)
}

// Sine is one line of a swaying speed: Amplitude·sin(2π·(Frequency·n + Phase))
// at the n-th step of its phase.
type Sine struct {
	Amplitude float64 `json:"amplitude_rad_s"`       // rad/s of the engine
	Frequency float64 `json:"frequency_cycles_step"` // cycles a step
	Phase     float64 `json:"phase_cycles"`          // cycles
}

// Settle is what a steady engine speed is.
type Settle struct {
	// Above is the least engine speed, rad/s.
	Above float64 `json:"above_rad_s"`
	// Band is how far the speed may stray from where it was, as a share.
	Band float64 `json:"band"`
	// For is how many steps it must stay there.
	For int64 `json:"for_steps"`
}

// Script is a run as a sequence of phases. What it orders is known ahead, so
// that the loop can look ahead with it.
type Script struct {
	// Phases in order.
	Phases []Phase

	step float64 // length of a step, s; set by the loop
	// swayed are the sways worked out last. Every step is looked at several
	// times: when it is ahead, and when it has come.
	swayed [128]swayed
}

// swayed is what sway gives for a step of a phase.
type swayed struct {
	phase        int // counted from 1; 0 is none yet
	n            int64
	speed, angle float64
}

// sway is that of a phase at its n-th step.
func (s *Script) sway(phase int, n int64) (speed, angle float64) {
	p := &s.Phases[phase]
	if len(p.Sway) == 0 {
		return 0, 0
	}
	k := &s.swayed[n%int64(len(s.swayed))]
	if k.phase != phase+1 || k.n != n {
		k.phase, k.n = phase+1, n
		k.speed, k.angle = p.sway(n, s.step)
	}
	return k.speed, k.angle
}

// Steps is the length of the whole script.
func (s *Script) Steps() (n int64) {
	for i := range s.Phases {
		n += s.Phases[i].Steps
	}
	return n
}

// cursor walks along a script. It is small and is copied to look ahead.
type cursor struct {
	phase int
	start int64   // first step of phase
	sway  float64 // crank angle that the sways of earlier phases have left, rad
}

// at moves to the phase of step, which may not lie before the present phase,
// and gives it; after the end it stays in the last.
func (c *cursor) at(s *Script, step int64) *Phase {
	for c.phase < len(s.Phases)-1 && step >= c.start+s.Phases[c.phase].Steps {
		_, angle := s.sway(c.phase, s.Phases[c.phase].Steps)
		c.sway += angle
		c.start += s.Phases[c.phase].Steps
		c.phase++
	}
	return &s.Phases[c.phase]
}

// load is the collective and the turning speed at step.
func (c *cursor) load(s *Script, step int64) (collective, turn float64) {
	p := c.at(s, step)
	since := step - c.start
	collective, turn = p.Collective, p.Turn
	if since < p.Ramp && c.phase > 0 {
		from, share := &s.Phases[c.phase-1], float64(since)/float64(p.Ramp)
		collective = from.Collective + (collective-from.Collective)*share
		turn = from.Turn + (turn-from.Turn)*share
	}
	return collective, turn
}

// swayed adds the sway to the plant's state at step: what the governor is
// shown.
func (c *cursor) swayed(s *Script, step int64, state *sim.State) {
	c.at(s, step)
	speed, angle := s.sway(c.phase, step-c.start)
	state.EngineSpeed += speed
	state.CrankAngle += c.sway + angle
}

// sway is the swaying speed, rad/s, at the n-th step of the phase, and the
// crank angle, rad, that it has made since the first: its integral, for steps
// of the given length, s.
func (p *Phase) sway(n int64, step float64) (speed, angle float64) {
	for _, line := range p.Sway {
		_, cycle := math.Modf(line.Frequency*float64(n) + line.Phase)
		sin, cos := math.Sincos(2 * math.Pi * cycle)
		speed += line.Amplitude * sin
		angle += line.Amplitude * step / (2 * math.Pi * line.Frequency) * (math.Cos(2*math.Pi*line.Phase) - cos)
	}
	return speed, angle
}
