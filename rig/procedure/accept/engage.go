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

// firsts are the pulses that are tried first, all at speeds that are too slow even when
// counted a little too high: likely are the machine's own, also just below the lowest
// setting, for a governor that engages only there. The rest are of other kinds, and far
// below, for one that counts several pulses for one.
func (a *acceptTest) firsts() (likely, rest []combination) {
	for i, share := range []float64{0.8, 0.95, 0.2} {
		turn := share * a.bottom()
		if own := (combination{kind: kind{low: a.low}, turn: turn}); i < 2 {
			likely = append(likely, own)
		} else {
			rest = append(rest, own)
		}
		for _, low := range []bool{a.low, !a.low} {
			for _, width := range []float64{1e-3, 300e-6} {
				if width < widestShare*a.spacing(turn) && (i == 0 || low == a.low && width == 1e-3) {
					rest = append(rest, combination{kind: kind{low, width}, turn: turn})
				}
			}
		}
	}
	return likely, rest
}

// firstWait is how long the first pulses are given, s; a governor's soft start
// may be slow.
const firstWait, usualWait = 4.0, 1.5

// engage looks for stick, speed and kind of pulse at which the throttle does
// something that it does not do without pulses: first for the stick, with the likely
// pulses.
func (a *acceptTest) engage() (bool, error) {
	var points []finding.StickPoint
	likely, rest := a.firsts()
	a.wait = firstWait
	silent := map[float64]openloop.Range{}
	for i, pulses := range [][]combination{likely, rest} {
		for _, a.up = range upSticks {
			if i == 0 {
				a.stand.Kind = "no pulses"
				at, err := a.stand.Silence(a.up, 1)
				if err != nil {
					return false, err
				}
				silent[a.up] = at
				points = append(points, finding.StickPoint{Stick: a.up, Low: at.Low, High: at.High})
			}
			a.silent, a.stand.Kind = silent[a.up], "first pulses"
			heard, seen, err := a.tryFirst(pulses)
			if err != nil || heard {
				return heard, err
			}
			points = append(points, seen...)
		}
	}
	a.silence(finding.PassesStick(points))
	return false, nil
}

// tryFirst tries pulses until the governor shows that it hears one; seen is what the
// throttle did at those that it did not.
func (a *acceptTest) tryFirst(pulses []combination) (heard bool, seen []finding.StickPoint, err error) {
	for _, f := range pulses {
		heard, took, err := a.hears(f.kind, f.turn, a.top())
		if err != nil {
			return false, nil, err
		}
		if heard {
			a.usable, a.wait = f.kind, min(2*usualWait, max(0.6, 2.5*took+0.2))
			a.sayHigh()
			return true, nil, nil
		}
		a.wait = usualWait
		seen = append(seen, a.seen())
	}
	return false, seen, nil
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
