// Package openloop plays a governor an engine of a given speed, with no engine in
// the loop, and watches what its throttle does.
package openloop

import (
	"math"
	"slices"
	"time"

	"govrig/rig"
	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/phase"
	"govrig/rig/runlog"
	"govrig/sim"
	"govrig/sim/turntable"
)

const (
	resetTime    = 0.3  // s, that the stick is low for before a trial
	settlePulses = 3    // pulses of a new speed in that time, or more
	holdTime     = 0.03 // s, at a speed before it changes, and more than a spacing
	settling     = 0.06 // s, beside two frames, until the throttle shows a new stick
	Confirmed    = 3    // pulses in a row that make a finding
)

// Stand turns the pickup at a given speed with no engine in the loop, moves
// the stick, and watches the throttle line. Sticks and throttles are shares of
// the machine's servo travel, closed to open.
type Stand struct {
	T              *execution.Test
	Kind           phase.Kind // of the phases to come
	Closed, Travel float64    // of the machine's servo, s
	selected       time.Duration
	Frame          float64         // time of a frame of the throttle line, s
	turning        float64         // speed of the turntable, rad/s
	mute           bool            // no pulses are played
	Watched        execution.Trace // what the last watch made
}

// New begins a loop around a turntable. The governor is asked for the given
// engine speed, rad/s.
func New(t *execution.Test, setting float64) *Stand {
	m := t.Bench.Machine
	t.Record.Event(runlog.EventPlant, runlog.Plant{Kind: "turntable"})
	t.Use(func(step float64) sim.Plant { return turntable.New(step) })
	closed, open := float64(m.Servo.ClosedPulse), float64(m.Servo.OpenPulse)
	return &Stand{
		T: t, Closed: closed, Travel: open - closed, Frame: 1.0 / 50, mute: true,
		selected: execution.Seconds(m.Governor.SelectPulse(setting)),
	}
}

// Phase goes on turning for some seconds; a turn of 0 plays no pulses, though
// the turntable itself goes on.
func (s *Stand) Phase(stick, turn, time float64) rig.Phase {
	return rig.Phase{
		Key: phase.Of(s.Kind), Steps: execution.Steps(time), Mute: turn == 0, Turn: s.turning,
		Stick: execution.Seconds(s.Closed + stick*s.Travel), Select: s.selected,
	}
}

// Again begins a loop anew, as after the board was set up, and goes on at the
// speed of the one before. The governor is asked for the given engine speed, rad/s.
func (s *Stand) Again(setting float64) *Stand {
	next := New(s.T, setting)
	next.Kind, next.Frame, next.turning, next.mute = s.Kind, s.Frame, s.turning, s.mute
	return next
}

// Change goes to another speed, rad/s, as fast as an engine may, and stays there
// for some seconds. The old speed is held for longer than it takes a pulse to go
// out, so that every pulse is placed knowing of the change.
func (s *Stand) Change(stick, turn, time float64) []rig.Phase {
	hold := holdTime
	if !s.mute {
		hold = max(hold, 1.3*s.spacing(s.turning))
	}
	before := s.Phase(stick, turn, hold)
	before.Mute = s.mute
	phases := []rig.Phase{before}
	if turn > 0 {
		phases = append(phases, s.ramps(stick, turn)...)
		s.turning = turn
	}
	s.mute = turn == 0
	return append(phases, s.Phase(stick, turn, time))
}

// No engine leaps from one speed to another, and a governor may doubt a pickup
// that does: a change is made in stretches, in each of which the speed moves by
// at most rampRatio while some pulses come (our own).
const (
	rampRatio  = 1.35
	rampPulses = 3
	rampTime   = 0.12 // s, at least
	// The board is told of one spacing for each telemetry frame. Where several
	// pulses come in one, their spacing may change by little from one to the
	// next, or the pulses would not be true to the engine.
	frameTime  = 2.2e-3 // s, and some more
	mostChange = 4e-4   // share from pulse to pulse
)

// ramps are the stretches of the way to another speed; from a standstill there
// are none.
func (s *Stand) ramps(stick, turn float64) (phases []rig.Phase) {
	if s.turning == 0 || turn == s.turning {
		return nil
	}
	n := math.Ceil(math.Abs(math.Log(turn/s.turning)) / math.Log(rampRatio))
	from := s.turning
	for i := range int(n) {
		to := from * math.Pow(turn/from, float64(i+1)/n)
		time := max(rampTime, rampPulses*s.spacing(min(to, s.turning)))
		if fast := s.spacing(max(to, s.turning)); fast < frameTime {
			time = max(time, fast*math.Abs(math.Log(turn/from))/n/mostChange)
		}
		p := s.Phase(stick, turn, time)
		p.Turn, p.Ramp = to, p.Steps
		phases, s.turning = append(phases, p), to
	}
	return phases
}

// spacing is the time from pulse to pulse, s, at an engine speed, rad/s.
func (s *Stand) spacing(turn float64) float64 {
	return s.T.Bench.Machine.Governor.PulseSpacing(turn)
}

// Share is a pulse width as a share of the servo travel.
func (s *Stand) Share(width float64) float64 { return (width - s.Closed) / s.Travel }

// Shares are the pulses of a phase after the throttle had time to settle.
func (s *Stand) Shares(part execution.Trace) (out []float64) {
	for _, p := range part.Pulses {
		if p.Start >= part.Time[0]+settling+2*s.Frame {
			out = append(out, s.Share(p.Width))
		}
	}
	return out
}

// Lately reports whether the newest pulses of a phase are all as looked for.
func (s *Stand) Lately(part execution.Trace, looked func(share float64) bool) bool {
	shares := s.Shares(part)
	if len(shares) < Confirmed {
		return false
	}
	for _, share := range shares[len(shares)-Confirmed:] {
		if !looked(share) {
			return false
		}
	}
	return true
}

// Watch holds the stick until the throttle is as looked for, or for at most
// limit seconds. took is how long that was.
func (s *Stand) Watch(stick, turn, limit float64, looked func(share float64) bool) (seen bool, took float64, err error) {
	part, err := s.T.PlayUntil(s.Phase(stick, turn, limit), func(part execution.Trace) bool { return s.Lately(part, looked) })
	if err != nil {
		return false, 0, err
	}
	s.Watched = part
	return s.Lately(part, looked), part.Time[len(part.Time)-1] - part.Time[0], nil
}

// Reset puts the stick low, so that a governor lets go, and turns at a speed for
// long enough that it is not taken for a failing pickup.
func (s *Stand) Reset(turn float64) error {
	time := resetTime
	if turn > 0 {
		time = max(time, settlePulses*s.spacing(turn))
	}
	_, _, err := s.T.Play(s.Change(0, turn, time)...)
	return err
}

// Range is what the throttle does in a phase: its least and greatest share.
type Range struct{ Low, High float64 }

// Outside reports whether a share is clear of the range by some more.
func (p Range) Outside(share, by float64) bool { return share < p.Low-by || share > p.High+by }

// Silence is what the throttle does without pulses and a stick up.
func (s *Stand) Silence(stick, time float64) (Range, error) {
	if err := s.Reset(0); err != nil {
		return Range{}, err
	}
	part, _, err := s.T.Play(s.Phase(stick, 0, time))
	if err != nil {
		return Range{}, err
	}
	shares := s.Shares(part)
	if len(shares) == 0 {
		return Range{}, nil
	}
	return Range{slices.Min(shares), slices.Max(shares)}, nil
}

// Course moves the stick through the given shares, at a speed, and gives the
// throttle at each. A stick at which no pulse came is left out.
func (s *Stand) Course(sticks []float64, turn float64) (stick, throttle []float64, err error) {
	if err := s.Reset(turn); err != nil {
		return nil, nil, err
	}
	for _, at := range sticks {
		part, _, err := s.T.Play(s.Phase(at, turn, settling+6*s.Frame))
		if err != nil {
			return nil, nil, err
		}
		if shares := s.Shares(part); len(shares) > 0 {
			stick, throttle = append(stick, at), append(throttle, Middle(shares))
		}
	}
	return stick, throttle, nil
}

// Threshold halves the stick between low and high until a microsecond is left,
// and gives the middle of it. above reports whether a stick is above it.
func (s *Stand) Threshold(low, high float64, above func(stick float64) (bool, error)) (float64, error) {
	for (high-low)*math.Abs(s.Travel) > 1e-6 {
		mid := (low + high) / 2
		is, err := above(mid)
		if err != nil {
			return 0, err
		}
		if is {
			high = mid
		} else {
			low = mid
		}
	}
	return (low + high) / 2, nil
}

// Middle is the median.
func Middle(values []float64) float64 {
	sorted := slices.Sorted(slices.Values(values))
	return sorted[len(sorted)/2]
}

// Clearly is how far the throttle must be from where it would be otherwise for
// the difference to count, as a share of the travel.
const Clearly = 0.1

func Starts(pulses []execution.Pulse) (out []float64) {
	for _, p := range pulses {
		out = append(out, p.Start)
	}
	return out
}

func Widths(pulses []execution.Pulse) (out []float64) {
	for _, p := range pulses {
		out = append(out, p.Width)
	}
	return out
}

// Reading is a value, or the reason for having none.
func Reading(ok bool, value float64, why string) measure.Reading {
	if !ok {
		return measure.Missing("%s", why)
	}
	return measure.Read(value)
}

// Dead says that the throttle line is.
func Dead(t *execution.Test, declared []measure.Declaration) {
	for _, d := range declared {
		t.Sheet.NotRun(d.Name, "no servo pulses came on the throttle line")
	}
	t.Found("No servo pulses came on the throttle line.")
	t.Next("See that the throttle line goes to the governor's servo output, that the grounds are joined, and that the governor has its own supply.")
}
