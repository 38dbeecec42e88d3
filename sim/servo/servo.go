// Package servo turns the governor's throttle pulses into an arm angle.
//
// In order, a pulse passes: a latency; steps of the resolution, counted from
// PulseLow; the dead band, in which the motor stays still, so that it stops
// half the band short of where it is sent; the motor, which runs at its rate
// until it is there; and the backlash, which the arm lies in until one flank
// moves it. Dead band and backlash are both the play operator, with the
// describing function of Gelb and Vander Velde, Multiple-Input Describing
// Functions (1968), for the backlash of full gap b.
//
// # Range of validity
//
// A motor strong enough for its load, without acceleration time. Over the
// latency up to 63 changes of the pulse are kept apart, which is enough for
// frames of 1.6 ms and longer at any latency; changes that come faster are
// merged into the newest.
package servo

import "math"

// Servo is a servo with its state. It is a plain value. Positions inside are
// shares of the travel.
type Servo struct {
	p        Params
	perPulse float64 // share per s of pulse
	band     float64 // half the dead band
	play     float64 // half the backlash
	reach    float64 // greatest move in a step
	pending  queue
	target   float64
	motor    float64
	arm      float64
}

// New makes a servo for steps of dt seconds, at rest at PulseLow. The
// parameters must be valid.
func New(p Params, dt float64) Servo {
	span := p.PulseHigh - p.PulseLow
	return Servo{
		p:        p,
		perPulse: 1 / span,
		band:     p.DeadBand / span / 2,
		play:     p.Backlash / p.Travel / 2,
		reach:    p.Rate * dt / p.Travel,
		pending:  newQueue(int64(math.Round(p.Latency / dt))),
	}
}

// Settle puts the servo at rest at a share, 0 to 1, of its travel, in the
// middle of its play.
func (s *Servo) Settle(share float64) {
	s.target, s.motor, s.arm = share, share, share
	s.pending.clear()
}

// Step moves the servo by one step. The pulse is the width of the newest one,
// s; with none yet, 0, the servo stays where it is.
func (s *Servo) Step(pulse float64) {
	if pulse > 0 {
		s.pending.push(pulse)
	}
	if due, ok := s.pending.pop(); ok {
		s.target = s.share(due)
	}
	off := s.target - s.motor
	if far := math.Abs(off) - s.band; far > 0 {
		s.motor += math.Copysign(min(far, s.reach), off)
	}
	s.arm = min(max(s.arm, s.motor-s.play), s.motor+s.play)
}

// Share is where the arm stands, 0 at PulseLow to 1 at PulseHigh.
func (s *Servo) Share() float64 { return s.arm }

// Angle is where the arm stands, rad, 0 at mid travel.
func (s *Servo) Angle() float64 { return (s.arm - 0.5) * s.p.Travel }

// share of the travel that a pulse asks for.
func (s *Servo) share(pulse float64) float64 {
	over := pulse - s.p.PulseLow
	if r := s.p.Resolution; r > 0 {
		over = math.Round(over/r) * r
	}
	return min(max(over*s.perPulse, 0), 1)
}

// Pulse is the width, s, that asks for a share, 0 to 1, of the travel.
func (p Params) Pulse(share float64) float64 {
	return p.PulseLow + share*(p.PulseHigh-p.PulseLow)
}
