package governor

import "math"

// Quirk is something wrong with a governor, as real ones are wrong.
type Quirk struct {
	// Name is what a machine file calls it.
	Name string
	// About says what it does, for a person.
	About string
	apply func(*Params)
}

// Apply gives p with the quirk.
func (q Quirk) Apply(p Params) Params {
	q.apply(&p)
	return p
}

// Quirks lists every quirk, by name.
var Quirks = []Quirk{
	{"other_polarity", "takes pickup pulses of the other polarity only", func(p *Params) { p.PickupLow, p.MaxActive = !p.PickupLow, 0.5 }},
	{"slow_frames", "sends its throttle pulses rarely", func(p *Params) { p.FrameRate = 22 }},
	{"coarse_output", "moves the throttle in coarse steps", func(p *Params) { p.OutputStep = 24e-6 }},
	{"proportional_only", "has no integral: the speed sags under load", func(p *Params) { p.IntegralTime = 0 }},
	{"wind_up", "lets its integral run on at the end of the throttle", func(p *Params) { p.WindUp = true }},
	{"no_hysteresis", "engages and disengages at the same stick", func(p *Params) { p.ArmOff = p.ArmOn }},
	{"loss_opens", "leaves the throttle open when the pickup fails", func(p *Params) { p.LossOpen = true }},
	{"believes_slow", "takes pulses that go missing for a slow engine, and opens the throttle", func(p *Params) { p.BelievesSlow = true }},
	{"deaf_when_fast", "does not hear the pickup above a speed", func(p *Params) { p.DeafAbove = p.SpeedLow + 0.8*(p.SpeedHigh-p.SpeedLow) }},
	{"counts_twice", "counts both edges of a pulse", func(p *Params) { p.BothEdges = true }},
	{"knob_reversed", "has a gain knob that works the other way round", func(p *Params) { p.KnobReversed = true }},
	{"coarse_setting", "can be set to a few speeds only", func(p *Params) { p.SpeedStep = math.Max(p.SpeedStep, (p.SpeedHigh-p.SpeedLow)/6.5) }},
}

// QuirkByName finds a quirk.
func QuirkByName(name string) (Quirk, bool) {
	for _, q := range Quirks {
		if q.Name == name {
			return q, true
		}
	}
	return Quirk{}, false
}
