package governed

import (
	"math"

	"govrig/protocol"
	"govrig/rig"
	"govrig/rig/execution"
	"govrig/rig/finding"
	"govrig/rig/measure"
	"govrig/rig/measure/hunting"
	"govrig/rig/measure/loop"
	"govrig/rig/measure/pulse"
	"govrig/rig/measure/response"
	"govrig/rig/measure/step"
	"govrig/sim/heli"
	"govrig/sim/machine"
)

// Swing is what was found about hunting, and where.
type Swing struct {
	hunting.Finding
	machine    *machine.Machine
	setting    machine.SpeedSetting
	orders     rig.Phase // that stood
	part       *execution.Trace
	From, To   int
	collective float64 // rad
}

// Hunts looks for hunting in samples from..to, in which a collective, rad, stood.
func (g *Governor) Hunts(part *execution.Trace, from, to int, collective float64) Swing {
	return g.HuntsIn(1, part, from, to, collective)
}

// HuntsIn is Hunts for one of so many stretches that are looked at one by one: all
// together have the chance of a false alarm that one window has.
func (g *Governor) HuntsIn(stretches int, part *execution.Trace, from, to int, collective float64) Swing {
	s := Swing{
		Finding: hunting.Detect(part.EngineSpeed(from, to), hunting.Config{MostChance: hunting.Chance / float64(stretches)}),
		machine: g.Machine, setting: g.Setting, orders: g.Orders, part: part, From: from, To: to, collective: collective,
	}
	s.orders.Collective = collective
	return s
}

// lately looks for hunting at the end of a trace: in the last seconds, where they
// show none in more of it, for a slower one, and at last for one that is uneven.
func (g *Governor) lately(part *execution.Trace, to int) (s Swing) {
	last := func(time float64) Swing {
		window := measure.Series{T: part.Time[:to], Y: part.Speed[:to]}.Between(part.Time[to-1]-time, part.Time[to-1]+1)
		return g.Hunts(part, to-window.Len(), to, g.Orders.Collective)
	}
	for _, time := range []float64{unheldTime, 20, hunting.Window} {
		if s = last(time); s.Hunting() {
			return s
		}
	}
	uneven := last(unheldTime)
	throttle := measure.Series{T: part.Time[uneven.From:to], Y: g.Shares(part.Throttle[uneven.From:to])}
	if f := hunting.Strokes(part.EngineSpeed(uneven.From, to), throttle); f.Hunting() {
		uneven.Finding = f
		return uneven
	}
	return s
}

// MostHunting is how far the speed may swing by hunting, full width, in %.
const MostHunting = 0.5

// ReadHunting takes the measures of hunting. What the window could not show is
// said with them.
func (g *Governor) ReadHunting(t *execution.Test, s Swing) {
	wide := measure.Read(0).With("%s; the window shows swings from %.2g to %.2g Hz", s.Why, s.Lowest, s.Highest)
	frequency, amplitude := measure.Missing("it does not hunt"), measure.Missing("it does not hunt")
	switch {
	case s.Kind == hunting.Unknown:
		wide = measure.Missing("%s", s.Why)
		if s.Lowest > 0 {
			wide = measure.Missing("%s; the lowest frequency that could have been shown is %.2g Hz", s.Why, s.Lowest)
		}
		frequency, amplitude = wide, wide
		if most, ok := s.most(g.Declared()); ok && most <= MostHunting {
			wide = measure.Read(most).With("at most, as no more swings there; whether it hunts cannot be told: %s", s.Why)
		}
	case s.Hunting():
		wide.Value = 100 * s.Swing / g.Declared()
		frequency, amplitude = measure.Read(s.Frequency), measure.Read(s.Swing/2)
	}
	g.Take(t, "hunting_swing", wide)
	g.Take(t, "hunting_frequency", frequency)
	g.Take(t, "hunting_amplitude", amplitude)
}

// most is how wide a swing can be at most, % of the declared speed, where it cannot
// be told whether it hunts: no wider than the whole speed wanders, and where that is
// too little to hide a slower one, half as much again as the one that was seen.
func (s *Swing) most(declared float64) (percent float64, ok bool) {
	band := step.SteadyBand(s.part.EngineSpeed(s.From, s.To), declared)
	if !band.OK() {
		return 0, false
	}
	if s.Amplitude > 0 && band.Value < 2*MostHunting {
		return math.Min(band.Value, 100*math.Max(s.Finding.Swing, 3*s.Amplitude)/declared), true
	}
	return band.Value, true
}

// TellHunting says that it hunts.
func (g *Governor) TellHunting(t *execution.Test, s Swing) {
	under := "light"
	if s.collective > float64(g.Machine.LoadStep.CollectiveLow) {
		under = "heavy"
	}
	t.Found("%s: the governor hunts under %s load: the engine swings by ±%.0f rpm, %.2g times a second.",
		s.setting.Name, under, s.Finding.Swing/2, s.Frequency)
}

// TellCauses says what makes it hunt, of swings that were found in this run, by
// the governor's own response, which is measured here.
func (g *Governor) TellCauses(t *execution.Test, swings ...Swing) error {
	if g.tellTwoThrottles(t, swings[0]) {
		return nil
	}
	calm, ok, err := g.MeasureCalm(t, swings[0])
	if err != nil {
		return err
	}
	known := g.tellBandOf(t, &calm)
	for _, s := range swings {
		k := s.known(t)
		if ok {
			k.believe(calm)
		}
		for _, c := range hunting.Causes(s.Finding, k.Known) {
			if found, next, said := finding.HuntingCause(c); said {
				known = true
				t.Found("%s: %s", s.setting.Name, found)
				t.Next("%s", next)
			}
		}
	}
	if !known {
		t.Found("What makes it hunt cannot be told from this run.")
		t.Next("Turn the governor's gain down and run this again.")
	}
	return nil
}

// tellTwoThrottles says that a swing comes from a throttle with two places only, where
// that is so; said reports whether it was.
func (g *Governor) tellTwoThrottles(t *execution.Test, s Swing) (said bool) {
	found, next, said := finding.TwoThrottles(g.Shares(s.part.Throttle[s.From:s.To]))
	if said {
		t.Found("%s: %s", s.setting.Name, found)
		t.Next("%s", next)
	}
	return said
}

// TellRoughness says that a speed that is not steady is the engine's doing, where
// that is so; said reports whether it was.
func (g *Governor) TellRoughness(t *execution.Test, s Swing) (said bool) {
	for _, c := range hunting.Causes(s.Finding, s.known(t).Known) {
		if found, next, ok := finding.HuntingCause(c); ok && c.Source == hunting.Roughness {
			t.Found("%s: %s", s.setting.Name, found)
			t.Next("%s", next)
			said = true
		}
	}
	return said
}

// evidence is what the rig knows of a swing.
type evidence struct{ hunting.Known }

// known is what the run itself and the machine file show.
func (s *Swing) known(t *execution.Test) evidence {
	servo := s.machine.Servo
	k := hunting.Known{
		Throttle: measure.Series{T: s.part.Time[s.From:s.To], Y: s.part.Throttle[s.From:s.To]},
		Low:      1e6 * float64(servo.ClosedPulse), High: 1e6 * float64(servo.OpenPulse),
		Gap: 1e6 * float64(servo.Backlash) / float64(servo.Travel) * math.Abs(float64(servo.OpenPulse-servo.ClosedPulse)),
	}
	var widths []float64
	for _, p := range t.Run.Trace.Pulses {
		widths = append(widths, p.Width)
	}
	if steps := pulse.StepsOf(widths, timer); steps.Kind == pulse.Staircase {
		k.Quantum = 1e6 * steps.Step
	}
	if plant, err := s.plant(); err == nil {
		k.Plant = plant
	}
	return evidence{k}
}

// timer is the resolution of the board's timer, s.
const timer = 1. / protocol.TickHz

// believe takes the governor's own response as known.
func (e *evidence) believe(c Calm) {
	if e.Plant == nil {
		return
	}
	if m, err := response.WithPlant(c.Points, e.Plant); err == nil {
		e.Loop, e.Band = m.Loop, m.Band
	}
	if c.Fitted {
		e.Delay = c.Fit.Delay
	}
}

// plant is from throttle pulse, µs, to engine speed, rpm, where it swings.
func (s *Swing) plant() (loop.Response, error) {
	linear, err := heli.New(s.machine.HeliParams(), execution.StepTime).Linearise(s.mean()/s.machine.Ratio(), s.collective)
	if err != nil {
		return nil, err
	}
	return func(w float64) complex128 { return linear.Response(complex(0, w)) * complex(execution.RPM*1e-6, 0) }, nil
}

// mean is the mean engine speed of the window, rad/s.
func (s *Swing) mean() float64 { return s.part.EngineSpeed(s.From, s.To).Mean() / execution.RPM }

// AdviceBand is where a loop is looked at, rad/s.
var AdviceBand = loop.Band{Min: 0.02, Max: 300}
