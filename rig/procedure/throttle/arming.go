package throttle

import (
	"math"
	"slices"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/execution/openloop"
	"govrig/rig/measure/pulse"
)

// engageSticks are where the stick is put to engage the governor, shares of its
// travel: some arm only high. At its end a throttle that the governor opens could
// not be told from one that follows the stick.
var engageSticks = []float64{governed.GovernedStick, 0.75, 0.88}

// engageSpeeds are the pickup speeds that are played then, rad/s: idling, just
// below the lowest setting, as some arm only once the engine turns fast, and near
// the highest.
func (l *throttleTest) engageSpeeds() []float64 {
	g := &l.T.Bench.Machine.Governor
	return []float64{l.idle(), 0.97 * float64(g.SpeedLow), 0.9 * float64(g.SpeedHigh)}
}

// engage looks for a stick and a pickup speed at which the governor engages: the
// throttle is then neither where the stick has it nor where it is without pulses.
// It lets it open all the way.
func (l *throttleTest) engage() error {
	limit := 4.0
	for _, stick := range engageSticks {
		l.Kind = "no pulses"
		silent, err := l.Silence(stick, 1)
		if err != nil {
			return err
		}
		passed := l.line.At(stick)
		own := func(share float64) bool {
			return silent.Outside(share, openloop.Clearly) && (!l.follows || math.Abs(share-passed) > openloop.Clearly)
		}
		for _, turn := range l.engageSpeeds() {
			l.Kind = "engaging"
			if err := l.Reset(turn); err != nil {
				return err
			}
			seen, took, err := l.Watch(stick, turn, limit, own)
			if err != nil {
				return err
			}
			if seen {
				l.up, l.turn, l.took = stick, turn, took
				return l.open()
			}
		}
		limit = 2
	}
	return l.engageHigh()
}

const (
	// highStick is near the end of the stick's way. There a governor that opens the
	// throttle does as one that passes the stick through; one that shuts it, because
	// the engine is too fast for any setting, shows itself.
	highStick, tooFast = 0.97, 1.08
	highTime           = 1.5 // s
)

// engageHigh looks whether the governor engages at highStick: with the pulses of an
// engine that is too slow the throttle is up, so that it does not take the pickup for
// lost, and with those of one that is too fast it is shut.
func (l *throttleTest) engageHigh() error {
	id := &l.T.Session.Identity
	fastest := float64(l.T.Bench.Machine.Governor.SpeedHigh)
	if l.T.Bench.Machine.Governor.PulseSpacing(tooFast*fastest) < float64(id.MinPeriodTicks)/float64(id.TickHz) {
		return nil
	}
	l.Kind = "engaging"
	shut := func(share float64) bool { return share < l.line.At(highStick)-openloop.Clearly }
	up := func(share float64) bool { return !shut(share) }
	if err := l.Reset(0.9 * fastest); err != nil {
		return err
	}
	part, _, err := l.T.Play(l.Phase(highStick, 0.9*fastest, highTime))
	if err != nil || !l.Lately(part, up) {
		return err
	}
	if err := l.Reset(tooFast * fastest); err != nil {
		return err
	}
	seen, took, err := l.Watch(highStick, tooFast*fastest, highTime, shut)
	if err != nil || !seen {
		return err
	}
	l.up, l.turn, l.took = highStick, tooFast*fastest, took
	l.highest = slices.Max(l.Shares(part))
	return l.open()
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
	part, err := l.T.PlayUntil(l.Phase(l.up, l.turn, 6), still)
	if err != nil {
		return err
	}
	l.governing = openloop.Widths(part.Pulses)
	shares := l.Shares(part)
	l.opened = openloop.Middle(shares[max(0, len(shares)-window):])
	l.openTime = l.took + part.Time[len(part.Time)-1] - part.Time[0]
	return nil
}

// findThresholds halves the stick to where the governor engages and disengages.
func (l *throttleTest) findThresholds() (err error) {
	switch {
	case !l.follows:
		l.thresholds = "the throttle never followed the stick, so that engaging could not be told from disengaging"
		return nil
	case l.turn == 0:
		l.thresholds = l.notEngaged()
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
	if l.arm, err = l.Threshold(0.02, l.up, l.armed); err != nil {
		return err
	}
	l.Kind = "disarming"
	l.release, err = l.Threshold(0, l.arm, l.holds)
	return err
}

// wait is how long a governor is given to engage or disengage, s.
func (l *throttleTest) wait() float64 { return min(3, max(0.5, 0.3+2*l.took)) }

// passes reports whether the throttle stands where the stick has it.
func (l *throttleTest) passes(stick float64) func(share float64) bool {
	tolerance := max(0.02, 2*l.strays)
	if step := pulse.StepsOf(l.governing, l.resolution()); step.Kind == pulse.Staircase {
		tolerance = max(tolerance, 1.5*step.Step/math.Abs(l.Travel))
	}
	at := l.line.At(max(stick, l.line.From))
	return func(share float64) bool { return math.Abs(share-at) < tolerance }
}

func (l *throttleTest) resolution() float64 { return 1 / float64(l.T.Session.Identity.TickHz) }

// armed reports whether the governor engages at a stick, coming from below.
func (l *throttleTest) armed(stick float64) (bool, error) {
	if err := l.Reset(l.turn); err != nil {
		return false, err
	}
	passes := l.passes(stick)
	seen, _, err := l.Watch(stick, l.turn, l.wait(), func(share float64) bool { return !passes(share) })
	return seen, err
}

// holds reports whether the governor still governs at a stick, coming from above.
func (l *throttleTest) holds(stick float64) (bool, error) {
	if err := l.Reset(l.turn); err != nil {
		return false, err
	}
	open := func(share float64) bool { return math.Abs(share-l.opened) < 0.03 }
	if _, _, err := l.Watch(l.up, l.turn, 2*l.openTime+0.5, open); err != nil {
		return false, err
	}
	l.governing = append(l.governing, openloop.Widths(l.Watched.Pulses)...)
	passes, _, err := l.Watch(stick, l.turn, l.wait(), l.passes(stick))
	return !passes, err
}
