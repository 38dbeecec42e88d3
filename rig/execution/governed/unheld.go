package governed

import (
	"math"
	"sort"

	"govrig/rig/execution"
	"govrig/rig/measure/step"
)

// Unheld is what a governor did at the end of a trace, where it did not hold
// the wanted speed.
type Unheld struct {
	Swing
	Speed    float64 // of the engine, rpm
	Low, Top float64 // its extremes, rpm
	throttle float64 // share of the travel
	idle     float64 // speed at which the engine idles, rpm
}

// unheldTime is how much of the end of a trace is looked at, s.
const unheldTime = 8.0

func (g *Governor) Unheld(part *execution.Trace) Unheld {
	to := len(part.Time)
	from := sort.SearchFloat64s(part.Time, part.Time[to-1]-unheldTime)
	u := Unheld{
		Swing: g.Hunts(part, from, to, float64(g.Machine.LoadStep.CollectiveLow)),
		Speed: step.MeanSpeed(part.EngineSpeed(from, to)).Value, throttle: g.Travel(part.Throttle[to-1]),
		idle: float64(g.Machine.Engine.IdleSpeed) * execution.RPM,
	}
	u.Low, u.Top = part.EngineSpeed(from, to).Extent()
	return u
}

// Asleep tells whether the engine did no more than idle.
func (u *Unheld) Asleep() bool { return u.Speed < 1.3*u.idle }

// steady tells whether the engine held some speed.
func (u *Unheld) steady() bool { return !u.Asleep() && u.Top-u.Low < 3*settleBand*u.Speed }

// Travel is a throttle pulse, µs, as a share of the way from closed to open.
func (g *Governor) Travel(pulse float64) float64 {
	closed, open := float64(g.Machine.Servo.ClosedPulse), float64(g.Machine.Servo.OpenPulse)
	return (pulse*1e-6 - closed) / (open - closed)
}

// multiple tells whether a speed is a whole part or multiple of the wanted
// one, give or take 6 % for a speed that swings, as it is when the governor
// counts another number of pulses a turn than it is given. It gives that number.
func (g *Governor) multiple(speed float64) (pulses int, ok bool) {
	given := g.Machine.Governor.PulsesPerTurn
	for pulses = 1; pulses <= 4*given; pulses++ {
		whole := pulses%given == 0 || given%pulses == 0
		want := g.Declared() * float64(given) / float64(pulses)
		if whole && pulses != given && math.Abs(speed/want-1) < 0.06 {
			return pulses, true
		}
	}
	return 0, false
}

// Explain says in plain words why the governor does not hold the wanted speed,
// as far as the end of the trace tells.
func (g *Governor) Explain(t *execution.Test, u Unheld) {
	_, multiple := g.multiple(u.Speed)
	switch {
	case u.Asleep():
		t.Found("The engine stayed at idle: the governor did not take up, although stick and pickup pulses were there.")
		t.Next("Does the governor arm at this stick, is its pickup polarity right, and has it been taught the ends of the stick? " +
			"The procedures throttle and accept find out.")
	case u.steady() || multiple:
		g.wrongSpeed(t, u.Speed)
	case u.Hunting():
		g.TellHunting(t, u.Swing)
	default:
		t.Found("The engine never became steady: at the end its speed went between %.0f and %.0f rpm.", u.Low, u.Top)
		t.Next("Turn the governor's gain down, or look at the throttle linkage, and try again.")
	}
}

// wrongSpeed says what it means that another speed is held, in rpm.
func (g *Governor) wrongSpeed(t *execution.Test, speed float64) {
	given := g.Machine.Governor.PulsesPerTurn
	if pulses, ok := g.multiple(speed); ok {
		t.Found("The governor holds the engine at %.0f rpm where %.0f are wanted: it counts %d pulses a turn, and is given %d.",
			speed, g.Declared(), pulses, given)
		t.Next("Set the governor to %d pulse(s) a turn (magnets, or poles), as in the machine file; if it has no such setting, "+
			"it may count both edges of a pulse.", given)
		return
	}
	t.Found("The governor holds the engine at %.0f rpm where %.0f are wanted.", speed, g.Declared())
	t.Next("Check the gear ratio, the number of magnets and the lowest and highest speed in the machine file and in the governor.")
}
