package procedure

import (
	"math"
	"slices"
	"time"

	"govrig/rig"
	"govrig/rig/record/runlog"
	"govrig/sim"
	"govrig/sim/turntable"
)

const (
	resetTime    = 0.3  // s, that the stick is low for before a trial
	settlePulses = 8    // pulses of a new speed in that time, or more: no engine changes in a moment
	holdTime     = 0.03 // s, at a speed before it changes
	settling     = 0.06 // s, beside two frames, until the throttle shows a new stick
	confirmed    = 3    // pulses in a row that make a finding
)

// stand turns the pickup at a given speed with no engine in the loop, moves
// the stick, and watches the throttle line. Sticks and throttles are shares of
// the machine's servo travel, closed to open.
type stand struct {
	t              *test
	name           string  // of the phases to come
	closed, travel float64 // of the machine's servo, s
	selected       time.Duration
	frame          float64 // time of a frame of the throttle line, s
	turning        float64 // speed of the turntable, rad/s
	mute           bool    // no pulses are played
	watched        Trace   // what the last watch made
}

// newStand begins a loop around a turntable. The governor is asked for the
// given engine speed, rad/s.
func newStand(t *test, setting float64) *stand {
	m := t.bench.Machine
	t.record.Event(runlog.EventPlant, runlog.Plant{Kind: "turntable"})
	t.use(func(step float64) sim.Plant { return turntable.New(step) })
	closed, open := float64(m.Servo.ClosedPulse), float64(m.Servo.OpenPulse)
	return &stand{
		t: t, closed: closed, travel: open - closed, frame: 1.0 / 50, mute: true,
		selected: seconds(selectWidth(&m.Governor, setting)),
	}
}

// phase goes on turning for some seconds; a turn of 0 plays no pulses, though
// the turntable itself goes on.
func (s *stand) phase(stick, turn, time float64) rig.Phase {
	return rig.Phase{
		Name: s.name, Steps: steps(time), Mute: turn == 0, Turn: s.turning,
		Stick: seconds(s.closed + stick*s.travel), Select: s.selected,
	}
}

// change goes to another speed, rad/s, and stays there. The old speed is held
// for longer than it takes a pulse to go out, so that every pulse is placed
// knowing of the change.
func (s *stand) change(stick, turn, time float64) []rig.Phase {
	before := s.phase(stick, turn, holdTime)
	before.Mute = s.mute
	if turn > 0 {
		s.turning = turn
	}
	s.mute = turn == 0
	return []rig.Phase{before, s.phase(stick, turn, time)}
}

// share is a pulse width as a share of the servo travel.
func (s *stand) share(width float64) float64 { return (width - s.closed) / s.travel }

// shares are the pulses of a phase after the throttle had time to settle.
func (s *stand) shares(part Trace) (out []float64) {
	for _, p := range part.Pulses {
		if p.Start >= part.Time[0]+settling+2*s.frame {
			out = append(out, s.share(p.Width))
		}
	}
	return out
}

// lately tells whether the newest pulses of a phase are all as looked for.
func (s *stand) lately(part Trace, looked func(share float64) bool) bool {
	shares := s.shares(part)
	if len(shares) < confirmed {
		return false
	}
	for _, share := range shares[len(shares)-confirmed:] {
		if !looked(share) {
			return false
		}
	}
	return true
}

// watch holds the stick until the throttle is as looked for, or for at most
// limit seconds. took is how long that was.
func (s *stand) watch(stick, turn, limit float64, looked func(share float64) bool) (seen bool, took float64, err error) {
	part, err := s.t.playUntil(s.phase(stick, turn, limit), func(part Trace) bool { return s.lately(part, looked) })
	if err != nil {
		return false, 0, err
	}
	s.watched = part
	return s.lately(part, looked), part.Time[len(part.Time)-1] - part.Time[0], nil
}

// reset puts the stick low, so that a governor lets go, and turns at a speed for
// long enough that it is not taken for a failing pickup.
func (s *stand) reset(turn float64) error {
	time := resetTime
	if turn > 0 {
		time = max(time, settlePulses*2*math.Pi/(turn*float64(s.t.bench.Machine.Governor.PulsesPerTurn)))
	}
	_, _, err := s.t.play(s.change(0, turn, time)...)
	return err
}

// span is what the throttle does in a phase: its least and greatest share.
type span struct{ low, high float64 }

// outside tells whether a share is clear of the span by some more.
func (p span) outside(share, by float64) bool { return share < p.low-by || share > p.high+by }

// silence is what the throttle does without pulses and the stick up.
func (s *stand) silence(time float64) (span, error) {
	if err := s.reset(0); err != nil {
		return span{}, err
	}
	part, _, err := s.t.play(s.phase(governedStick, 0, time))
	if err != nil {
		return span{}, err
	}
	shares := s.shares(part)
	if len(shares) == 0 {
		return span{}, nil
	}
	return span{slices.Min(shares), slices.Max(shares)}, nil
}

// course moves the stick through the given shares, at a speed, and gives the
// throttle at each. A stick at which no pulse came is left out.
func (s *stand) course(sticks []float64, turn float64) (stick, throttle []float64, err error) {
	if err := s.reset(turn); err != nil {
		return nil, nil, err
	}
	for _, at := range sticks {
		part, _, err := s.t.play(s.phase(at, turn, settling+6*s.frame))
		if err != nil {
			return nil, nil, err
		}
		if shares := s.shares(part); len(shares) > 0 {
			stick, throttle = append(stick, at), append(throttle, middle(shares))
		}
	}
	return stick, throttle, nil
}

// threshold halves the stick between low and high until a microsecond is left,
// and gives the middle of it. above tells whether a stick is above it.
func (s *stand) threshold(low, high float64, above func(stick float64) (bool, error)) (float64, error) {
	for (high-low)*math.Abs(s.travel) > 1e-6 {
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

// middle is the median.
func middle(values []float64) float64 {
	sorted := slices.Sorted(slices.Values(values))
	return sorted[len(sorted)/2]
}
