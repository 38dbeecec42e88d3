package throttle

import (
	"math"
	"slices"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/execution/openloop"
	"govrig/rig/measure/pulse"
)

// takeUp looks for a pickup speed at which the governor takes up: the throttle
// is then neither where the stick has it nor where it is without pulses. It
// lets it open all the way.
func (l *throttleTest) takeUp() error {
	l.Kind = "no pulses"
	silent, err := l.Silence(governed.GovernedStick, 1)
	if err != nil {
		return err
	}
	passed := l.line.At(governed.GovernedStick)
	own := func(share float64) bool {
		return silent.Outside(share, openloop.Clearly) && (!l.follows || math.Abs(share-passed) > openloop.Clearly)
	}
	m := l.T.Bench.Machine
	for _, turn := range []float64{l.idle(), 0.9 * float64(m.Governor.SpeedLow)} {
		l.Kind = "taking up"
		if err := l.Reset(turn); err != nil {
			return err
		}
		seen, took, err := l.Watch(governed.GovernedStick, turn, 4, own)
		if err != nil {
			return err
		}
		if seen {
			l.turn, l.took = turn, took
			return l.open()
		}
	}
	return nil
}

// open waits until the governing throttle goes no farther.
func (l *throttleTest) open() error {
	l.Kind = "opening"
	window := int(math.Ceil(0.4 / l.Frame))
	still := func(part execution.Trace) bool {
		shares := l.Shares(part)
		if len(shares) < window {
			return false
		}
		last := shares[len(shares)-window:]
		return slices.Max(last)-slices.Min(last) < 0.005
	}
	part, err := l.T.PlayUntil(l.Phase(governed.GovernedStick, l.turn, 6), still)
	if err != nil {
		return err
	}
	l.governing = openloop.Widths(part.Pulses)
	shares := l.Shares(part)
	l.opened = openloop.Middle(shares[max(0, len(shares)-window):])
	l.openTime = l.took + part.Time[len(part.Time)-1] - part.Time[0]
	return nil
}

// findThresholds halves the stick to where the governor takes up and lets go.
func (l *throttleTest) findThresholds() (err error) {
	switch {
	case !l.follows:
		l.thresholds = "the throttle never followed the stick, so that taking up could not be told from letting go"
		return nil
	case l.turn == 0:
		l.thresholds = "with the stick up and pickup pulses the governor did nothing of its own"
		return nil
	}
	l.Kind = "arming"
	always, err := l.armed(0.02)
	if err != nil {
		return err
	}
	if always {
		l.thresholds = "it governs with the stick all but closed"
		return nil
	}
	if l.arm, err = l.Threshold(0.02, governed.GovernedStick, l.armed); err != nil {
		return err
	}
	l.Kind = "release"
	l.release, err = l.Threshold(0, l.arm, l.holds)
	return err
}

// wait is how long a governor is given to take up or let go, s.
func (l *throttleTest) wait() float64 { return min(3, max(0.5, 0.3+2*l.took)) }

// passes tells whether the throttle stands where the stick has it.
func (l *throttleTest) passes(stick float64) func(share float64) bool {
	tolerance := 0.02
	if step := pulse.StepsOf(l.governing, l.resolution()); step.Kind == pulse.Staircase {
		tolerance = max(tolerance, 1.5*step.Step/math.Abs(l.Travel))
	}
	at := l.line.At(max(stick, l.line.From))
	return func(share float64) bool { return math.Abs(share-at) < tolerance }
}

func (l *throttleTest) resolution() float64 { return 1 / float64(l.T.Session.Identity.TickHz) }

// armed tells whether the governor takes up at a stick, coming from below.
func (l *throttleTest) armed(stick float64) (bool, error) {
	if err := l.Reset(l.turn); err != nil {
		return false, err
	}
	passes := l.passes(stick)
	seen, _, err := l.Watch(stick, l.turn, l.wait(), func(share float64) bool { return !passes(share) })
	return seen, err
}

// holds tells whether the governor still governs at a stick, coming from above.
func (l *throttleTest) holds(stick float64) (bool, error) {
	if err := l.Reset(l.turn); err != nil {
		return false, err
	}
	open := func(share float64) bool { return math.Abs(share-l.opened) < 0.03 }
	if _, _, err := l.Watch(governed.GovernedStick, l.turn, 2*l.openTime+0.5, open); err != nil {
		return false, err
	}
	l.governing = append(l.governing, openloop.Widths(l.Watched.Pulses)...)
	passes, _, err := l.Watch(stick, l.turn, l.wait(), l.passes(stick))
	return !passes, err
}
