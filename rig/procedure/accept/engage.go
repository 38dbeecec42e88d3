package accept

import (
	"math"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/execution/openloop"
	"govrig/rig/finding"
)

// upSticks are those at which a governor may engage, shares of the travel: some
// do so near the end only.
var upSticks = []float64{governed.GovernedStick, 1}

// firsts are the pulses that are tried first, the machine's own at the head: all
// kinds at a speed that is too slow even when counted a little too high, and the
// likeliest just below the lowest setting, for a governor that engages only there,
// and far below, for one that counts several pulses for one.
func (a *acceptTest) firsts() (all []combination) {
	for i, share := range []float64{0.8, 0.95, 0.2} {
		turn := share * a.bottom()
		all = append(all, combination{kind: kind{low: a.low}, turn: turn})
		for _, low := range []bool{a.low, !a.low} {
			for _, width := range []float64{1e-3, 300e-6} {
				if width < widestShare*a.spacing(turn) && (i == 0 || low == a.low && width == 1e-3) {
					all = append(all, combination{kind: kind{low, width}, turn: turn})
				}
			}
		}
	}
	return all
}

// firstWait is how long the first pulses are given, s; a governor's soft start
// may be slow.
const firstWait, usualWait = 4.0, 1.5

// engage looks for stick, speed and kind of pulse at which the throttle does
// something that it does not do without pulses.
func (a *acceptTest) engage() (bool, error) {
	var points []finding.StickPoint
	for _, a.up = range upSticks {
		a.stand.Kind = "no pulses"
		var err error
		if a.silent, err = a.stand.Silence(a.up, 1); err != nil {
			return false, err
		}
		points = append(points, finding.StickPoint{Stick: a.up, Low: a.silent.Low, High: a.silent.High})
		a.stand.Kind, a.wait = "first pulses", firstWait
		for _, f := range a.firsts() {
			heard, took, err := a.hears(f.kind, f.turn, a.top())
			if err != nil {
				return false, err
			}
			if heard {
				a.usable, a.wait = f.kind, min(2*usualWait, max(0.6, 2.5*took+0.2))
				a.sayHigh()
				return true, nil
			}
			a.wait = usualWait
			points = append(points, a.seen())
		}
	}
	a.silence(finding.PassesStick(points))
	return false, nil
}

// seen is what the throttle did in the last watch.
func (a *acceptTest) seen() finding.StickPoint {
	p := finding.StickPoint{Stick: a.up, Low: math.Inf(1), High: math.Inf(-1)}
	for _, share := range a.stand.Shares(a.stand.Watched) {
		p.Low, p.High = min(p.Low, share), max(p.High, share)
	}
	return p
}

// sayHigh says where the stick had to go to the end.
func (a *acceptTest) sayHigh() {
	if a.up > governed.GovernedStick {
		a.t.Found("With the stick at %.0f %% it does nothing that shows that it hears the pickup; at %.0f %% it does. All that follows is with the stick there.",
			100*governed.GovernedStick, 100*a.up)
	}
}

// silence says what it means that no pulse made any difference.
func (a *acceptTest) silence(passes finding.Verdict) {
	if passes == finding.Yes {
		a.nothing("the throttle goes where the stick goes, with pulses and without: nothing of the pickup input can be told")
		a.t.Found("The governor passes the stick through: the throttle goes where the stick goes, up to its end, with pickup pulses and without. It has not engaged, so that nothing of its pickup input can be told.")
		a.t.Next("See the governor's manual for the switch or setting that turns governing on, and whether it has been taught the ends of the stick; then run accept again.")
		return
	}
	for _, d := range a.measures() {
		if d.Name == "own_pulses_heard" {
			a.t.Sheet.Set(d.Name, 0)
			continue
		}
		a.t.Sheet.NotRun(d.Name, "the governor heard none of the pulses that were played")
	}
	a.t.Found("The throttle does not go where the stick goes, so that the governor is at work; but no pickup pulse, of either polarity, makes a difference.")
	a.t.Next("The governor hears no pulses: see that the pickup line is connected to its pickup input and the grounds are joined, and its manual for the sensor it wants, its pull-up and its supply.")
}

// hears reports whether the throttle does something that it does not do without
// pulses, with the stick up, asked for a setting, and a kind of pulse at a speed.
func (a *acceptTest) hears(k kind, turn, setting float64) (heard bool, took float64, err error) {
	if err := a.setUp(k, turn, setting); err != nil {
		return false, 0, err
	}
	if err := a.stand.Reset(turn); err != nil {
		return false, 0, err
	}
	return a.stand.Watch(a.up, turn, a.wait, func(share float64) bool { return a.silent.Outside(share, openloop.Clearly) })
}

// opens reports whether the throttle opens farther than without pulses: the
// governor finds the engine too slow. The kind is one that it hears.
func (a *acceptTest) opens(turn, setting float64) (bool, error) {
	if err := a.setUp(a.usable, turn, setting); err != nil {
		return false, err
	}
	if err := a.stand.Reset(turn); err != nil {
		return false, err
	}
	open, _, err := a.stand.Watch(a.up, turn, a.wait, func(share float64) bool { return share > a.silent.High+openloop.Clearly })
	return open, err
}

// rpm is a speed, rad/s, in rpm as a true clock has it.
func (a *acceptTest) rpm(turn float64) float64 {
	return turn * execution.RPM * (1 + execution.BoardFast(a.t.Session))
}
