package accept

import (
	"fmt"
	"slices"
	"strings"

	"govrig/rig/execution"
	"govrig/rig/phase"
)

// playedWidths are the widths that are played beside the machine's own, s.
var playedWidths = []float64{100e-6, 200e-6, 500e-6, 1e-3, 2e-3}

// combine plays both polarities with all widths at all speeds.
func (a *acceptTest) combine() error {
	for _, low := range []bool{a.low, !a.low} {
		a.stand.Kind = phase.Kind(polarity(low) + " pulses")
		for _, turn := range a.speeds() {
			own := a.ownWidth(turn)
			for _, width := range append([]float64{own}, playedWidths...) {
				c := combination{low: low, width: width, turn: turn, own: width == own && low == a.low}
				if width != own && width > widestShare*a.spacing(turn) {
					continue
				}
				if err := a.try(&c); err != nil {
					return err
				}
			}
		}
	}
	a.readPulses()
	return nil
}

// try plays a combination and keeps what came of it.
func (a *acceptTest) try(c *combination) error {
	if err := a.setUp(c.low, c.width, float64(a.m.Governor.SpeedHigh)); err != nil {
		return err
	}
	var err error
	c.heard, _, err = a.hears(c.turn)
	a.tried = append(a.tried, *c)
	return err
}

// speeds are those at which widths are tried: all below the highest speed
// setting as the governor counts them, so that the throttle opens.
func (a *acceptTest) speeds() []float64 {
	g := a.m.Governor
	all := []float64{float64(a.m.Engine.IdleSpeed), a.below(float64(g.SpeedLow)), a.below(float64(g.SpeedHigh))}
	slices.Sort(all)
	return slices.Compact(all)
}

// below is a speed that the governor counts as clearly below a setting.
func (a *acceptTest) below(setting float64) float64 { return 0.9 * setting / max(1, a.counts) }

func polarity(low bool) string {
	if low {
		return "low"
	}
	return "high"
}

// readPulses takes the measures of the combinations.
func (a *acceptTest) readPulses() {
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
	for _, low := range []bool{a.low, !a.low} {
		a.t.Found("%s", a.words(low))
	}
	if own < 100 {
		a.advisePolarity(other)
	}
}

func (a *acceptTest) advisePolarity(other float64) {
	if other > 0 && a.share(func(c combination) bool { return c.low == a.low }) == 0 {
		a.t.Found("It takes the other polarity only: it hears %s pulses, and this machine's pickup makes %s ones.", polarity(!a.low), polarity(a.low))
		a.t.Next("Set the governor's pickup polarity to %s pulses, or use a sensor of the other kind.", polarity(a.low))
		return
	}
	a.t.Next("The governor does not hear all pulses that this machine's pickup makes: see its manual for the sensor it wants, its pull-up and its supply.")
}

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
		if a.share(func(c combination) bool { return c.low == a.low && c.width == width }) == 100 {
			widths = append(widths, width)
		}
	}
	return widths
}

// words say which pulses of a polarity were heard.
func (a *acceptTest) words(low bool) string {
	var deaf []string
	played := 0
	for _, c := range a.tried {
		if c.low != low {
			continue
		}
		played++
		if !c.heard {
			deaf = append(deaf, fmt.Sprintf("%.0f µs at %.0f rpm", 1e6*c.width, c.turn*execution.RPM))
		}
	}
	name := polarity(low) + " pulses"
	if low == a.low {
		name += ", the machine's own,"
	}
	name = strings.ToUpper(name[:1]) + name[1:]
	switch {
	case len(deaf) == 0:
		return fmt.Sprintf("%s are heard in all %d widths and speeds played.", name, played)
	case len(deaf) == played:
		return fmt.Sprintf("%s are not heard in any of %d widths and speeds.", name, played)
	}
	return fmt.Sprintf("%s are heard, but not: %s.", name, strings.Join(deaf, "; "))
}
