package procedure

import (
	"math"
	"sort"

	"govrig/rig/measure/step"
)

// unheld is what a governor did at the end of a trace, where it did not hold
// the wanted speed.
type unheld struct {
	swing
	speed    float64 // of the engine, rpm
	low, top float64 // its extremes, rpm
	throttle float64 // share of the travel
	idle     float64 // speed at which the engine idles, rpm
}

// unheldTime is how much of the end of a trace is looked at, s.
const unheldTime = 8.0

func (g *governed) unheld(part *Trace) unheld {
	to := len(part.Time)
	from := sort.SearchFloat64s(part.Time, part.Time[to-1]-unheldTime)
	u := unheld{
		swing: g.hunts(part, from, to, float64(g.m.LoadStep.CollectiveLow)),
		speed: step.MeanSpeed(part.speed(from, to)).Value, throttle: g.travel(part.Throttle[to-1]),
		idle: float64(g.m.Engine.IdleSpeed) * rpm,
	}
	u.low, u.top = part.speed(from, to).Extent()
	return u
}

// asleep tells whether the engine did no more than idle.
func (u *unheld) asleep() bool { return u.speed < 1.3*u.idle }

// steady tells whether the engine held some speed.
func (u *unheld) steady() bool { return !u.asleep() && u.top-u.low < 3*settleBand*u.speed }

// travel is a throttle pulse, µs, as a share of the way from closed to open.
func (g *governed) travel(pulse float64) float64 {
	closed, open := float64(g.m.Servo.ClosedPulse), float64(g.m.Servo.OpenPulse)
	return (pulse*1e-6 - closed) / (open - closed)
}

// multiple tells whether a speed is a whole part or multiple of the wanted
// one, give or take 6 % for a speed that swings, as it is when the governor
// counts another number of pulses a turn than it is given. It gives that number.
func (g *governed) multiple(speed float64) (pulses int, ok bool) {
	given := g.m.Governor.PulsesPerTurn
	for pulses = 1; pulses <= 4*given; pulses++ {
		whole := pulses%given == 0 || given%pulses == 0
		want := g.declared() * float64(given) / float64(pulses)
		if whole && pulses != given && math.Abs(speed/want-1) < 0.06 {
			return pulses, true
		}
	}
	return 0, false
}

// explain says in plain words why the governor does not hold the wanted speed,
// as far as the end of the trace tells.
func (g *governed) explain(t *test, u unheld) {
	_, multiple := g.multiple(u.speed)
	switch {
	case u.asleep():
		t.found("The engine stayed at idle: the governor did not take up, although stick and pickup pulses were there.")
		t.next("Does the governor arm at this stick, is its pickup polarity right, and has it been taught the ends of the stick? " +
			"The procedures throttle and accept find out.")
	case u.steady() || multiple:
		g.wrongSpeed(t, u.speed)
	case u.Hunting():
		g.tellHunting(t, u.swing)
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
