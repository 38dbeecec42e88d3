package procedure

import (
	"math"

	"govrig/rig/measure/step"
)

// unheld is what a governor did that did not hold the wanted speed.
type unheld struct {
	speed    float64 // of the engine at the end, rpm
	low, top float64 // its extremes there, rpm
	throttle float64 // at the end, share of the travel
}

// unheldTime is how much of the end of a trace is looked at, s.
const unheldTime = 3.0

func (g *governed) unheld(part *Trace) unheld {
	end := part.Time[len(part.Time)-1]
	tail := part.speed(0, len(part.Time)).Between(end-unheldTime, end)
	u := unheld{speed: step.MeanSpeed(tail).Value, throttle: g.travel(part.Throttle[len(part.Throttle)-1])}
	u.low, u.top = tail.Extent()
	return u
}

// steady tells whether the engine held some speed, above idling.
func (u unheld) steady(idle float64) bool {
	return u.top-u.low < 3*settleBand*u.speed && u.speed > 1.3*idle
}

// travel is a throttle pulse, µs, as a share of the way from closed to open.
func (g *governed) travel(pulse float64) float64 {
	closed, open := float64(g.m.Servo.ClosedPulse), float64(g.m.Servo.OpenPulse)
	return (pulse*1e-6 - closed) / (open - closed)
}

// multiple tells whether a speed is a whole part or multiple of the wanted
// one, as it is when the governor counts another number of pulses a turn than
// it is given. It gives that number.
func (g *governed) multiple(speed float64) (pulses int, ok bool) {
	given := g.m.Governor.PulsesPerTurn
	for pulses = 1; pulses <= 12; pulses++ {
		want := g.declared() * float64(given) / float64(pulses)
		if pulses != given && math.Abs(speed/want-1) < 3*settleBand {
			return pulses, true
		}
	}
	return 0, false
}

// explain says in plain words why the governor does not hold the wanted speed,
// as far as the end of a trace tells.
func (g *governed) explain(t *test, part *Trace) {
	u := g.unheld(part)
	idle := float64(g.m.Engine.IdleSpeed) * rpm
	switch {
	case u.steady(idle):
		g.wrongSpeed(t, u.speed)
	case u.throttle < 0.15:
		t.found("The throttle stayed closed: the governor did not take up, although stick and pickup pulses were there.")
		t.next("Does the governor arm at this stick, is its pickup polarity right, and has it been taught the ends of the stick? " +
			"The procedures throttle and accept find out.")
	default:
		t.found("The engine never became steady: at the end its speed went between %.0f and %.0f rpm.", u.low, u.top)
		t.next("Turn the governor's gain down, or look at the throttle linkage, and try again.")
	}
}

// wrongSpeed says what it means that another speed is held, in rpm.
func (g *governed) wrongSpeed(t *test, speed float64) {
	given := g.m.Governor.PulsesPerTurn
	if pulses, ok := g.multiple(speed); ok {
		t.found("The governor holds the engine at %.0f rpm where %.0f are wanted: it counts %d pulses a turn, and is given %d.",
			speed, g.declared(), pulses, given)
		t.next("Set the governor to %d pulse(s) a turn (magnets, or poles), as in the machine file; if it has no such setting, "+
			"it may count both edges of a pulse.", given)
		return
	}
	t.found("The governor holds the engine at %.0f rpm where %.0f are wanted.", speed, g.declared())
	t.next("Check the gear ratio, the number of magnets and the lowest and highest speed in the machine file and in the governor.")
}
