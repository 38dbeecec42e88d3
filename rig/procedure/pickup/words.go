package pickup

import (
	"fmt"

	"govrig/rig/measure/mounting"
	"govrig/sim/pickup"
	"govrig/sim/words"
)

// mostCauses are told.
const mostCauses = 5

// causes says in words what the pulses can come from, the likeliest first, each
// once.
func (j *judge) causes(v PickupVerdict) (all []string) {
	known := map[string]bool{}
	for _, c := range v.Causes {
		words, gap := j.change(c), j.gap(c, v.PerTurn == 0)
		if words == "" {
			words, gap = gap, ""
		}
		if known[words] || len(all) == mostCauses {
			continue
		}
		known[words] = true
		if gap != "" && v.PerTurn > 0 && c.Tells() {
			words += ", and " + gap
		}
		all = append(all, words)
	}
	return all
}

// change says in words what is not as in the machine file, but for the gap.
func (j *judge) change(c mounting.Cause) string {
	switch c.Change {
	case mounting.OtherPole:
		return "the wrong pole looks at the sensor, or the sensor's wrong side at the magnet"
	case mounting.MagnetTurned:
		return "the magnet is turned a quarter and " + lies(c.Params.Axis)
	case mounting.SensorTurned:
		return "the sensor is turned a quarter and " + faces(c.Params.Sensor.Normal)
	case mounting.OtherPattern:
		return "some of the magnets are the wrong way round"
	}
	return ""
}

func lies(axis pickup.Direction) string {
	switch axis {
	case pickup.Gapwise:
		return "has a pole toward the sensor"
	case pickup.Travelwise:
		return "lies along the way it moves"
	}
	return "lies square to the way it moves"
}

func faces(normal pickup.Direction) string {
	switch normal {
	case pickup.Gapwise:
		return "faces the magnet"
	case pickup.Travelwise:
		return "faces along the way the magnet moves"
	}
	return "faces square to the way the magnet moves"
}

// gap says which gap would do it.
func (j *judge) gap(c mounting.Cause, none bool) string {
	switch {
	case none && c.Low > j.file.Gap:
		return fmt.Sprintf("the gap is wider than about %.1f mm", 1e3*c.Low)
	case none && c.High < j.file.Gap:
		return fmt.Sprintf("the gap is less than about %.1f mm", 1e3*c.High)
	case none:
		return "magnet and sensor as the machine file has them give no pulses at all"
	case !c.Tells():
		return "magnet and sensor are as the machine file has them"
	}
	words := "the gap is " + between(c)
	if c.Low > j.file.Gap || c.High < j.file.Gap {
		words += fmt.Sprintf(", where the machine file has %.1f", 1e3*j.file.Gap)
	}
	if c.Change == mounting.AsFiled && fieldMargin(c) < leastMargin {
		words += ", near where it stops"
	}
	return words
}

// between says in which range the gap is.
func between(c mounting.Cause) string {
	if 1e3*(c.High-c.Low) < 0.1 {
		return fmt.Sprintf("about %.1f mm", 1e3*c.Gap)
	}
	return fmt.Sprintf("about %.1f mm (%.1f to %.1f)", 1e3*c.Gap, 1e3*c.Low, 1e3*c.High)
}

// tell says what was found and what to do next.
func (p *probing) tell(s seen, v PickupVerdict) {
	if n := len(p.pulses); n > 0 && !p.byHand {
		if rest := p.Loop.Time() - p.pulses[n-1].End(); rest > windowTime {
			p.Found("The last pulse came %.0f s before the end; what follows is of the pulses up to it.", rest)
		}
	}
	p.tellLevels(v)
	switch v.Kind {
	case PickupNothing, PickupStuck:
		p.tellNothing(v)
	case PickupUnread:
		p.Found("Too few pulses came to tell anything: turn the shaft longer.")
	case PickupIrregular:
		p.tellIrregular(s)
	default:
		p.tellPulses(s, v)
	}
	p.advise(v)
}

// advise says what to do next.
func (p *probing) advise(v PickupVerdict) {
	switch v.Kind {
	case PickupRight:
		return
	case PickupNothing, PickupStuck:
		p.Next("Look at supply and wires first. Then try while you watch (--watch goes on to the end of the time): the sensor nearer, its other side to the magnet, a quarter turned.")
	case PickupUnlike, PickupNearLimit:
		p.Next("Measure the gap. Bring the sensor a little nearer while you watch (--watch): pulses that grow wider mean that it was too far, narrower that it was near enough; hardly any change, that magnet or sensor is turned.")
		p.Next("When all is as it should be and only the machine file is not, put the measured gap into it.")
	}
	p.Next("Run pickup again until it is right.")
}

func (p *probing) tellLevels(v PickupVerdict) {
	if v.PerTurn == 0 {
		return
	}
	p.Found("The line rests %s and goes %s while a magnet is felt%s.", levelWord(p.low), levelWord(!p.low), p.asTold())
	if p.flipped {
		p.Next("When sensor and wires are right, set pickup.active to %s in the machine file, and the governor to that polarity.", levelWord(!p.low))
	}
}

func (p *probing) asTold() string {
	if p.flipped {
		return ", the opposite of what the machine file says"
	}
	return ", as the machine file says"
}

func (p *probing) tellNothing(v PickupVerdict) {
	p.Found("No pulses: the line stays %s, %s.", levelWord(p.level), resting(p.level != p.low))
	wires := "the sensor has no supply, or a wire is off"
	if !p.level {
		wires = "the sensor has no supply or its line no pull-up, or a wire is off"
	}
	if !p.turned {
		wires += "; or the shaft did not turn"
	}
	p.may(append(p.judge.causes(v), wires))
}

// may lists what it can come from.
func (p *probing) may(causes []string) {
	for i, cause := range causes {
		switch i {
		case 0:
			p.Found("Likeliest: %s.", cause)
		default:
			p.Found("Or: %s.", cause)
		}
	}
}

func (p *probing) tellIrregular(s seen) {
	if s.ok && s.Missing+s.Extra == 0 {
		p.Found("At the speed given these are %.2f pulses a turn, which is no whole number: is that the speed?", s.exact)
		return
	}
	if !s.ok {
		p.Found("The pulses follow no pattern from turn to turn: turn more evenly, or some are missing or stray.")
	} else {
		p.Found("In %s: pulses missing %d, too many %d.", words.Count(s.Turns, "turn"), s.Missing, s.Extra)
	}
	p.Found("Missing pulses come from a gap near its limit, a loose sensor or a loose wire; stray ones from a bad contact, a missing pull-up, or the sparks of the starter.")
}

func (p *probing) tellPulses(s seen, v PickupVerdict) {
	p.Found("It gives %s a turn, %.1f %% of the turn wide; the governor is set to %d.", pulses(s.PerTurn), 100*s.Width(), p.judge.governor)
	causes := p.judge.causes(v)
	switch v.Kind {
	case PickupRight, PickupNearLimit:
		p.tellRight(v)
	case PickupUneven:
		p.Found("The magnets are not alike: their spacing is %.0f %% off, their widths differ by %.0f %%. The governor sees that as a speed that changes within each turn.", 100*v.Spacing, 100*v.Width)
	case PickupWrongCount:
		if c, ok := v.asFiled(); ok && c.Unlikely == 0 {
			p.Found("That is what the magnets of the machine file give: the governor's pulses per turn do not go with them.")
			return
		}
		p.may(causes)
	case PickupUnlike:
		p.Found("The machine file lets expect %s.", p.judge.expected())
		p.may(append(causes, "the sensor switches at another field than the machine file says"))
	}
}

// expected says what the file lets expect.
func (j *judge) expected() string {
	if j.high == 0 {
		return "no pulses"
	}
	return fmt.Sprintf("%s a turn, %.1f to %.1f %% of the turn wide", pulses(j.is.PulsesPerRev), j.low, j.high)
}

func pulses(n int) string { return words.Count(n, "pulse") }

func (p *probing) tellRight(v PickupVerdict) {
	c, _ := v.asFiled()
	if !c.Tells() {
		p.Found("Right, as the machine file has it. With this sensor the width does not tell the gap.")
		return
	}
	p.Found("Right: the gap is %s, with %.1f times the field that the least sensitive sensor of its kind needs.", between(c), fieldMargin(c))
	if v.Kind == PickupNearLimit {
		p.Found("That is near where it stops; heat and wear would do the rest. Bring the sensor nearer until it is 2 times or more (common practice).")
	}
	if other, ok := v.widerGap(); ok {
		p.Found("The same width would come from %.1f mm, near its limit: look that the gap is not that wide.", 1e3*other.Gap)
	}
}
