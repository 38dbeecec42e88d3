package accept

import (
	"math"

	"govrig/rig/execution"
	"govrig/rig/execution/openloop"
)

// lowest finds the slowest pickup that is heard, by halving in the logarithm of
// speed.
func (a *acceptTest) lowest() error {
	a.stand.Kind = "slow"
	low, high := 2*math.Pi/(slowestSpacing*float64(a.m.Governor.PulsesPerTurn)), a.below(a.bottom())
	if heard, err := a.hearsSlow(high); err != nil || !heard {
		a.t.Sheet.NotRun("lowest_speed_heard", whyNotBelow)
		return err
	}
	speed, err := a.edge(high, low, 1.1, a.hearsSlow)
	if err != nil {
		return err
	}
	a.t.Sheet.Set("lowest_speed_heard", a.rpm(speed))
	a.t.Found("The slowest engine that it hears turns at %.0f rpm.", a.rpm(speed))
	return nil
}

const whyNotBelow = "the machine's own pulses were not heard just below the lowest speed setting"

// slowestSpacing is the longest time from pulse to pulse that is played, s.
const slowestSpacing = 0.35

// hearsSlow reports whether pulses are still heard after the pickup has turned
// for some pulses: one that comes too late can be taken for a lost pickup.
func (a *acceptTest) hearsSlow(turn float64) (bool, error) {
	if err := a.setUp(kind{low: a.low}, turn, a.top()); err != nil {
		return false, err
	}
	if err := a.stand.Reset(turn); err != nil {
		return false, err
	}
	part, _, err := a.t.Play(a.stand.Phase(a.up, turn, max(a.wait, 4*a.spacing(turn))))
	if err != nil {
		return false, err
	}
	return a.stand.Lately(part, func(share float64) bool { return a.silent.Outside(share, openloop.Clearly) }), nil
}

// edge finds the speed farthest toward beyond that still is heard, to a ratio,
// from one at which it is heard.
func (a *acceptTest) edge(heard, beyond, ratio float64, hears func(turn float64) (bool, error)) (float64, error) {
	if is, err := hears(beyond); err != nil || is {
		return beyond, err
	}
	for math.Abs(math.Log(beyond/heard)) > math.Log(ratio) {
		mid := math.Sqrt(heard * beyond)
		is, err := hears(mid)
		if err != nil {
			return 0, err
		}
		if is {
			heard = mid
		} else {
			beyond = mid
		}
	}
	return heard, nil
}

// Speeds as shares of the highest speed setting.
const (
	nearSpeed = 0.97 // clearly below, so that the throttle opens
	fastSpeed = 0.96 // from which the governor is taken to the highest
	overSpeed = 1.03
)

// beyondEdge is how far beyond an edge, as a ratio, it is shown that the pickup is
// lost there.
const beyondEdge = 1.02

// highest finds the fastest pickup that is heard. A governor that turned out to
// open the throttle just below its highest setting is taken to that setting and
// beyond: there the throttle must do other than when the pulses stop. Where that
// shows nothing, the speed is sought above which the throttle no longer opens; it
// is one that is not heard only when the throttle, which was open, then does as
// when the pulses stop.
func (a *acceptTest) highest() error {
	a.stand.Kind = "fast"
	if a.counts != 1 {
		a.t.Sheet.NotRun("highest_speed_heard", whyMiscounted)
		return nil
	}
	low := a.below(a.bottom())
	hears := func(turn float64) (bool, error) {
		heard, _, err := a.hears(kind{low: a.low}, turn, a.top())
		return heard, err
	}
	if heard, err := hears(low); err != nil || !heard {
		a.t.Sheet.NotRun("highest_speed_heard", whyNotBelow)
		return err
	}
	if found, err := a.farthest(low); err != nil || found {
		return err
	}
	edge, err := a.edge(low, nearSpeed*a.top(), 1.01, hears)
	if err != nil {
		return err
	}
	lost, err := a.loses(low, min(edge*beyondEdge, a.top()))
	if err != nil {
		return err
	}
	if lost {
		a.readHighest(edge)
	} else {
		a.t.Sheet.NotRun("highest_speed_heard", "near its highest speed the throttle does nothing that differs from what it does without pulses")
	}
	return nil
}

// farthest takes the governor from just below its highest setting or, where it does
// not open the throttle there, from a low speed, to that setting and beyond.
func (a *acceptTest) farthest(low float64) (found bool, err error) {
	from := low
	if open, err := a.opensOwn(fastSpeed * a.top()); err != nil {
		return false, err
	} else if open {
		from = fastSpeed * a.top()
	}
	for _, share := range []float64{overSpeed, 1} {
		if heard, err := a.tracks(from, share*a.top()); err != nil || heard {
			if heard {
				a.readHighest(share * a.top())
			}
			return heard, err
		}
	}
	return false, nil
}

// loses reports whether the governor, taken from a speed to another, does there as
// when the pulses stop, while at the first that would make a difference.
func (a *acceptTest) loses(from, turn float64) (bool, error) {
	if heard, err := a.tracks(from, turn); err != nil || heard {
		return false, err
	}
	return a.tracks(from, from)
}

// opensOwn reports whether the throttle opens wide with the machine's own pulses.
func (a *acceptTest) opensOwn(turn float64) (bool, error) {
	if err := a.setUp(kind{low: a.low}, turn, a.top()); err != nil {
		return false, err
	}
	return a.openWide(turn, half, 3)
}

// How wide, shares of the travel, a throttle opens.
const half, wide = 0.5, 0.95

// openWide lets the throttle open at a speed, by some share.
func (a *acceptTest) openWide(turn, share, limit float64) (bool, error) {
	if err := a.stand.Reset(turn); err != nil {
		return false, err
	}
	open := min(wide, max(share, a.silent.High+2*openloop.Clearly))
	opened, _, err := a.stand.Watch(a.up, turn, limit, func(share float64) bool { return share > open })
	return opened, err
}

func (a *acceptTest) readHighest(speed float64) {
	a.t.Sheet.Set("highest_speed_heard", a.rpm(speed))
	if speed > a.top() {
		a.t.Found("It hears the pickup up to %.0f rpm, beyond its highest speed setting.", a.rpm(speed))
		return
	}
	if speed == a.top() {
		a.t.Found("It hears the pickup up to its highest speed setting, %.0f rpm.", a.rpm(speed))
		return
	}
	a.t.Found("It does not hear the pickup above %.0f rpm, while it can be set to %.0f rpm.", a.rpm(speed), a.top()*execution.RPM)
	a.t.Next("Choose no head speed for which the engine comes near %.0f rpm (%.0f rpm at the head), fewer magnets, or another governor.", a.rpm(speed), a.rpm(speed)/a.m.Ratio())
}
