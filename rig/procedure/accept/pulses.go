package accept

import (
	"slices"

	"govrig/rig/execution"
	"govrig/rig/phase"
)

// The widths that are played beside the machine's own, s; of the other polarity
// some are enough.
var (
	playedWidths = []float64{100e-6, 200e-6, 500e-6, 1e-3, 2e-3}
	otherWidths  = []float64{200e-6, 1e-3}
)

// combine plays both polarities with several widths at all speeds.
func (a *acceptTest) combine() error {
	for _, turn := range a.speeds() {
		for _, low := range []bool{a.low, !a.low} {
			a.stand.Kind = phase.Kind(polarity(low) + " pulses")
			widths := playedWidths
			if low != a.low {
				widths = otherWidths
			}
			for _, width := range append([]float64{0}, widths...) {
				c := combination{kind: kind{low, width}, turn: turn, own: width == 0 && low == a.low}
				if width > widestShare*a.spacing(turn) {
					continue
				}
				var err error
				if c.heard, _, err = a.hears(c.kind, turn, a.top()); err != nil {
					return err
				}
				c.width = a.widthOf(c.kind, turn)
				a.tried = append(a.tried, c)
			}
		}
	}
	a.readPulses()
	return nil
}

// speeds are those at which widths are tried: all below the highest speed
// setting as the governor counts them, so that the throttle opens.
func (a *acceptTest) speeds() []float64 {
	all := []float64{float64(a.m.Engine.IdleSpeed), a.below(a.bottom()), a.below(a.top())}
	slices.Sort(all)
	return slices.Compact(all)
}

func polarity(low bool) string {
	if low {
		return "low"
	}
	return "high"
}

// told are the combinations of which something can be told: at their speed, some
// kind of pulse makes a difference. silent are the speeds at which none does.
func (a *acceptTest) told() (told []combination, silent []float64) {
	for _, turn := range a.speeds() {
		at := slices.DeleteFunc(slices.Clone(a.tried), func(c combination) bool { return c.turn != turn })
		if slices.ContainsFunc(at, func(c combination) bool { return c.heard }) {
			told = append(told, at...)
		} else {
			silent = append(silent, turn)
		}
	}
	return told, silent
}

// readPulses takes the measures of the combinations.
func (a *acceptTest) readPulses() {
	told, silent := a.told()
	a.tried = told
	a.saySilent(silent)
	if len(told) == 0 {
		for _, d := range a.pulseMeasures() {
			a.t.Sheet.NotRun(d.Name, whyNotAgain)
		}
		return
	}
	own := a.share(func(c combination) bool { return c.own })
	other := a.share(func(c combination) bool { return c.low != a.low })
	a.t.Sheet.Set("own_pulses_heard", own)
	a.t.Sheet.Set("other_polarity_heard", other)
	widths := a.heardWidths()
	const why = "no width of the machine's own polarity was heard at all speeds"
	if len(widths) == 0 {
		a.t.Sheet.NotRun("narrowest_pulse_heard", why)
		a.t.Sheet.NotRun("widest_pulse_heard", why)
	} else {
		fast := execution.BoardFast(a.t.Session)
		a.t.Sheet.Set("narrowest_pulse_heard", 1e6*slices.Min(widths)/(1+fast))
		a.t.Sheet.Set("widest_pulse_heard", 1e6*slices.Max(widths)/(1+fast))
	}
	a.sayPulses(own, other)
}

const whyNotAgain = "no pulse made a difference again at any of the speeds that were tried"

// share is how many of the chosen combinations were heard, %.
func (a *acceptTest) share(chosen func(combination) bool) float64 {
	played, heard := 0, 0
	for _, c := range a.tried {
		if chosen(c) {
			played++
			if c.heard {
				heard++
			}
		}
	}
	return 100 * float64(heard) / float64(max(1, played))
}

// heardWidths are the widths of the machine's own polarity that were heard
// whenever they were played.
func (a *acceptTest) heardWidths() (widths []float64) {
	for _, width := range playedWidths {
		if a.share(func(c combination) bool { return c.low == a.low && !c.own && c.width == width }) == 100 {
			widths = append(widths, width)
		}
	}
	return widths
}
