package accept

import (
	"math"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/execution/openloop"
)

// rungs are pickup speeds as shares of the lowest speed setting. Between two of
// them a governor that counts a number of pulses for one stops opening: 4, 3,
// 2, 1 and one half, in the order of counted.
var (
	rungs   = []float64{0.222, 0.289, 0.408, 0.8, 1.41, 2.83}
	counted = []float64{4, 3, 2, 1, 0.5}
)

const firstRung = 3 // below which a healthy governor's throttle opens

// count finds how many pulses the governor counts for one. Asked for its lowest
// speed, it opens the throttle up to that speed, as it counts it, and shuts it
// above.
func (a *acceptTest) count() error {
	a.stand.Kind = "counting"
	setting := float64(a.m.Governor.SpeedLow)
	opens := func(rung int) (bool, error) { return a.opens(rungs[rung]*setting, setting) }
	rung := firstRung
	open, err := opens(rung)
	up := open
	for err == nil && open == up {
		if up {
			rung++
		} else {
			rung--
		}
		if rung < 0 || rung == len(rungs) || !a.playable(rungs[rung]*setting) {
			a.counts = 0
			break
		}
		open, err = opens(rung)
	}
	if err != nil {
		return err
	}
	if up {
		rung--
	}
	a.readCount(rung)
	return nil
}

// readCount takes the count between a rung at which the throttle opens and the
// next.
func (a *acceptTest) readCount(rung int) {
	if a.counts == 0 {
		a.t.Sheet.NotRun("counts_per_pulse", "the throttle did not change from open to shut at any pickup speed")
		return
	}
	a.counts = counted[rung]
	a.t.Sheet.Set("counts_per_pulse", a.counts)
	given := a.m.Governor.PulsesPerTurn
	switch {
	case a.counts > 1:
		a.t.Found("The governor counts %g pulses for each one: it counts both edges of a pulse, or is set to another number of pulses a turn than %d.", a.counts, given)
	case a.counts < 1:
		a.t.Found("The governor counts one pulse for two: it is set to another number of pulses a turn than %d.", given)
	default:
		a.t.Found("It counts one pulse for each that it is given.")
		return
	}
	a.t.Next("Set the governor to %d pulse(s) a turn (magnets). If it is, and its select line is connected, it counts wrongly: the engine would run at the wrong speed.", given)
}

// lowest finds the slowest pickup that is heard, by halving in the logarithm of
// speed.
func (a *acceptTest) lowest() error {
	a.stand.Kind = "slow"
	low, high := 2*math.Pi/(slowestSpacing*float64(a.m.Governor.PulsesPerTurn)), a.below(float64(a.m.Governor.SpeedLow))
	if heard, err := a.hearsSlow(high); err != nil || !heard {
		a.t.Sheet.NotRun("lowest_speed_heard", "the machine's own pulses were not heard just below the lowest speed setting")
		return err
	}
	speed, err := a.edge(high, low, 1.1, a.hearsSlow)
	if err != nil {
		return err
	}
	a.t.Sheet.Set("lowest_speed_heard", speed*execution.RPM*(1+execution.BoardFast(a.t.Session)))
	a.t.Found("The slowest engine that it hears turns at %.0f rpm.", speed*execution.RPM)
	return nil
}

// slowestSpacing is the longest time from pulse to pulse that is played, s.
const slowestSpacing = 0.35

// hearsSlow tells whether pulses are still heard after the pickup has turned
// for some pulses: one that comes too late can be taken for a lost pickup.
func (a *acceptTest) hearsSlow(turn float64) (bool, error) {
	if err := a.setUp(a.low, a.ownWidth(turn), float64(a.m.Governor.SpeedHigh)); err != nil {
		return false, err
	}
	if err := a.stand.Reset(turn); err != nil {
		return false, err
	}
	part, _, err := a.t.Play(a.stand.Phase(governed.GovernedStick, turn, max(a.wait, 4*a.spacing(turn))))
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

// highest finds the fastest pickup that is heard. Up to the highest speed
// setting the throttle opens when it is; there and beyond, the throttle must do
// other than when the pulses stop.
func (a *acceptTest) highest() error {
	a.stand.Kind = "fast"
	if a.counts != 1 {
		a.t.Sheet.NotRun("highest_speed_heard", whyMiscounted)
		return nil
	}
	low, top := a.below(float64(a.m.Governor.SpeedLow)), float64(a.m.Governor.SpeedHigh)
	if err := a.setUp(a.low, a.ownWidth(top), top); err != nil {
		return err
	}
	hears := func(turn float64) (bool, error) {
		heard, _, err := a.hears(turn)
		return heard, err
	}
	if heard, err := hears(low); err != nil || !heard {
		a.t.Sheet.NotRun("highest_speed_heard", "the machine's own pulses were not heard just below the lowest speed setting")
		return err
	}
	speed, err := a.edge(low, nearSpeed*top, 1.01, hears)
	if err == nil && speed == nearSpeed*top {
		speed, err = a.beyond(speed, top)
	}
	if err != nil {
		return err
	}
	a.readHighest(speed*(1+execution.BoardFast(a.t.Session)), top)
	return nil
}

// beyond tries speeds at which a governor that hears does not open the
// throttle, and gives the highest that is heard, or the given one.
func (a *acceptTest) beyond(heard, top float64) (float64, error) {
	lost, err := a.after(fastSpeed*top, 0)
	if err != nil {
		return 0, err
	}
	for _, share := range []float64{overSpeed, 1} {
		then, err := a.after(fastSpeed*top, share*top)
		if err != nil {
			return 0, err
		}
		if differ(then, lost) {
			return share * top, nil
		}
	}
	return heard, nil
}

func (a *acceptTest) readHighest(speed, top float64) {
	a.t.Sheet.Set("highest_speed_heard", speed*execution.RPM)
	if speed >= top {
		a.t.Found("It hears the pickup up to %.0f rpm, beyond its highest speed setting.", speed*execution.RPM)
		return
	}
	a.t.Found("It does not hear the pickup above %.0f rpm, while it can be set to %.0f rpm.", speed*execution.RPM, top*execution.RPM)
	a.t.Next("Choose no head speed for which the engine comes near %.0f rpm (%.0f rpm at the head), fewer magnets, or another governor.", speed*execution.RPM, speed*execution.RPM/a.m.Ratio())
}

// after lets the governor open the throttle with the pickup at one speed, then
// goes to another, 0 for none, and gives the throttle, pulse by pulse.
func (a *acceptTest) after(from, turn float64) ([]float64, error) {
	if err := a.stand.Reset(from); err != nil {
		return nil, err
	}
	open := max(0.5, a.silent.High+2*openloop.Clearly)
	if _, _, err := a.stand.Watch(governed.GovernedStick, from, 6, func(share float64) bool { return share > open }); err != nil {
		return nil, err
	}
	part, _, err := a.t.Play(a.stand.Change(governed.GovernedStick, turn, 1)...)
	return a.stand.Shares(part), err
}

// differ tells whether two courses of the throttle differ clearly for some
// pulses in a row.
func differ(a, b []float64) bool {
	row := 0
	for i := range min(len(a), len(b)) {
		if math.Abs(a[i]-b[i]) <= openloop.Clearly {
			row = 0
			continue
		}
		if row++; row == openloop.Confirmed {
			return true
		}
	}
	return false
}
