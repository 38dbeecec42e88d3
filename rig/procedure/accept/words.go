package accept

import (
	"fmt"
	"strings"

	"govrig/rig/finding"
)

// saySilent says at which speeds nothing could be told.
func (a *acceptTest) saySilent(silent []float64) {
	var speeds []string
	for _, turn := range silent {
		speeds = append(speeds, fmt.Sprintf("%.0f", a.rpm(turn)))
	}
	if len(speeds) > 0 {
		a.t.Found("At %s rpm no pulse of any kind makes a difference to the throttle, so that of the pulses there nothing can be told in this way.", strings.Join(speeds, " and "))
	}
}

// sayPulses says which pulses were heard, and what to do about those that were not.
func (a *acceptTest) sayPulses(own, other float64) {
	for _, low := range []bool{a.low, !a.low} {
		a.t.Found("%s", a.words(low))
	}
	if own == 100 {
		return
	}
	heard, _, byWidth := finding.NarrowestHeard(a.tries(a.low))
	switch {
	case other > 0 && a.share(func(c combination) bool { return c.low == a.low }) == 0:
		a.t.Found("It takes the other polarity only: it hears %s pulses, and this machine's pickup makes %s ones.", polarity(!a.low), polarity(a.low))
		a.t.Next("Set the governor's pickup polarity to %s pulses, or use a sensor of the other kind.", polarity(a.low))
	case byWidth:
		a.t.Next("This machine's pickup makes pulses of %.0f µs at %.0f rpm, and the governor wants %.0f µs or nearly so: bring sensor and magnet nearer, use a larger magnet or one nearer the shaft, or a sensor that stays on for longer; see the governor's manual.",
			1e6*a.trueWidth(a.top()), a.rpm(a.top()), 1e6*heard)
	default:
		a.t.Next("The governor does not hear all pulses that this machine's pickup makes: see its manual for the sensor it wants, its pull-up and its supply.")
	}
}

// tries are the widths of a polarity that were played.
func (a *acceptTest) tries(low bool) (tries []finding.Try) {
	for _, c := range a.tried {
		if c.low == low {
			tries = append(tries, finding.Try{Width: c.width, Heard: c.heard})
		}
	}
	return tries
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
			deaf = append(deaf, fmt.Sprintf("%.0f µs at %.0f rpm", 1e6*c.width, a.rpm(c.turn)))
		}
	}
	name := polarity(low) + " pulses"
	if low == a.low {
		name += ", the machine's own,"
	}
	name = strings.ToUpper(name[:1]) + name[1:]
	heard, most, byWidth := finding.NarrowestHeard(a.tries(low))
	switch {
	case len(deaf) == 0:
		return fmt.Sprintf("%s are heard in all %d widths and speeds played.", name, played)
	case len(deaf) == played:
		return fmt.Sprintf("%s are not heard in any of %d widths and speeds.", name, played)
	case byWidth:
		return fmt.Sprintf("%s are heard from %.0f µs on at every speed played; narrow ones, up to %.0f µs, are not.", name, 1e6*heard, 1e6*most)
	}
	return fmt.Sprintf("%s are heard, but not: %s.", name, strings.Join(deaf, "; "))
}
