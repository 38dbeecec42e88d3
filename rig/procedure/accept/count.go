package accept

import (
	"math"

	"govrig/rig/finding"
	"govrig/sim/machine"
)

// rungs are pickup speeds as shares of the lowest speed setting. Between two of
// them a governor that counts a number of pulses for one stops opening: 4, 3,
// 2, 1 and one half, in the order of counted.
var (
	rungs   = []float64{0.222, 0.289, 0.408, 0.8, 1.41, 2.83}
	counted = []float64{4, 3, 2, 1, 0.5}
)

const (
	firstRung = 3 // below which a healthy governor's throttle opens
	// crossed is how near, as a ratio, a speed is found at which a throttle no
	// longer opens.
	crossed = 1.06
)

// count finds how many pulses the governor counts for one. Asked for its lowest
// speed, it opens the throttle up to that speed, as it counts it, and shuts it
// above.
func (a *acceptTest) count() error {
	a.stand.Kind = "counting"
	rung, found, err := a.climb(a.bottom())
	if err != nil {
		return err
	}
	if !found {
		a.unknown("the throttle did not change from open to shut at any pickup speed")
		return nil
	}
	counts := counted[rung]
	lowest := finding.Crossing{Open: rungs[rung] * a.bottom(), Shut: rungs[rung+1] * a.bottom()}
	return a.confirm(counts, lowest)
}

// climb finds the rung at which the throttle opens, asked for a setting, while at
// the next it does not.
func (a *acceptTest) climb(setting float64) (rung int, found bool, err error) {
	rung = firstRung
	open, err := a.opens(rungs[rung]*setting, setting)
	up := open
	for err == nil && open == up {
		if up {
			rung++
		} else {
			rung--
		}
		if rung < 0 || rung == len(rungs) || !a.playable(rungs[rung]*setting) {
			return 0, false, nil
		}
		open, err = a.opens(rungs[rung]*setting, setting)
	}
	if up {
		rung--
	}
	return rung, true, err
}

// confirm asks for the lowest and the highest setting in turn at a speed between
// the two: only where the select line has an effect does the speed at which the
// throttle shuts tell what is counted.
func (a *acceptTest) confirm(counts float64, lowest finding.Crossing) error {
	between := math.Sqrt(a.bottom()*a.top()) / counts
	if !a.playable(between) {
		a.unknown("the board cannot play the pulses that would show it")
		return nil
	}
	atLowest, err := a.opens(between, a.bottom())
	if err != nil {
		return err
	}
	atHighest, err := a.opens(between, a.top())
	if err != nil {
		return err
	}
	var highest finding.Crossing
	a.works = finding.SelectWorks(atLowest, atHighest, lowest, highest)
	if a.works == finding.Yes && a.m.Governor.Select == machine.SelectContinuous {
		a.readCount(counts)
		return nil
	}
	if lowest, err = a.crossing(lowest, a.bottom()); err != nil || lowest.Open == 0 {
		a.readUnselected(0)
		return err
	}
	if highest, err = a.crossing(finding.Crossing{Open: lowest.Open / crossed, Shut: lowest.Shut * crossed}, a.top()); err != nil {
		return err
	}
	a.works = finding.SelectWorks(atLowest, atHighest, lowest, highest)
	a.saySelect(math.Sqrt(lowest.Open * lowest.Shut))
	a.readUnselected(math.Sqrt(lowest.Open * lowest.Shut))
	return nil
}

// crossing narrows down the speeds between which the throttle no longer opens; it
// is empty where the throttle is not open at the one and shut at the other.
func (a *acceptTest) crossing(c finding.Crossing, setting float64) (finding.Crossing, error) {
	open, err := a.opens(c.Open, setting)
	if err != nil || !open {
		return finding.Crossing{}, err
	}
	if open, err = a.opens(c.Shut, setting); err != nil || open {
		return finding.Crossing{}, err
	}
	for c.Shut > crossed*c.Open {
		middle := math.Sqrt(c.Open * c.Shut)
		if open, err = a.opens(middle, setting); err != nil {
			return finding.Crossing{}, err
		}
		if open {
			c.Open = middle
		} else {
			c.Shut = middle
		}
	}
	return c, nil
}

// saySelect says where the select line has no effect on a governor whose speed it
// ought to set.
func (a *acceptTest) saySelect(held float64) {
	if a.works != finding.No || a.m.Governor.Select != machine.SelectContinuous {
		return
	}
	a.t.Found("The select line has no effect on it: asked for its lowest and for its highest speed, it no longer opens the throttle at %.0f rpm.", a.rpm(held))
	a.t.Next("See that the select line goes to the governor's input for its speed, and whether it has to be set to take its speed from there.")
}

// readUnselected takes the count of a governor whose select line showed no effect,
// or picks stored speeds, from the one that it holds: a count is known when with no
// other would that speed lie between its lowest and its highest.
func (a *acceptTest) readUnselected(held float64) {
	if held == 0 || a.works != finding.No && a.m.Governor.Select == machine.SelectContinuous {
		a.unknown("select pulses of both ends did the same at a speed between them, which the count is told from")
		return
	}
	fits := 0.0
	for _, counts := range counted {
		if at := held * counts; at > 0.97*a.bottom() && at < 1.03*a.top() {
			if fits > 0 {
				a.unknown("the select line does not set the speed, and the one that it holds goes with several counts")
				return
			}
			fits = counts
		}
	}
	if fits == 0 {
		a.unknown("the select line does not set the speed, and the one that it holds goes with no count")
		return
	}
	a.readCount(fits)
}

// unknown notes that the count could not be told.
func (a *acceptTest) unknown(why string) { a.t.Sheet.NotRun("counts_per_pulse", why) }

// readCount takes the count.
func (a *acceptTest) readCount(counts float64) {
	a.counts = counts
	a.t.Sheet.Set("counts_per_pulse", counts)
	given := a.m.Governor.PulsesPerTurn
	switch {
	case counts > 1:
		a.t.Found("The governor counts %g pulses for each one: it counts both edges of a pulse, or is set to another number of pulses a turn than %d.", counts, given)
	case counts < 1:
		a.t.Found("The governor counts one pulse for two: it is set to another number of pulses a turn than %d.", given)
	default:
		a.t.Found("It counts one pulse for each that it is given.")
		return
	}
	a.t.Next("Set the governor to %d pulse(s) a turn (magnets). If it is, and its select line is connected, it counts wrongly: the engine would run at the wrong speed.", given)
}

// below is a speed that the governor counts as clearly below a setting.
func (a *acceptTest) below(setting float64) float64 { return 0.9 * setting / max(1, a.counts) }
