package procedure

import (
	"math"

	"govrig/rig/measure"
	"govrig/rig/measure/hunting"
	"govrig/rig/measure/step"
	"govrig/sim/heli"
)

// readHold reads a setting that is held.
func (g *governed) readHold(t *test, part *Trace, s *seeking) {
	from, to := part.phase(g.name(phaseSteady))
	mean := step.MeanSpeed(part.speed(from, to))
	off := mean
	off.Value = 100 * (mean.Value/g.declared() - 1)
	g.take(t, "speed_setting_error", off)
	g.take(t, "select_width", measure.Read(s.best().width*1e6))
	g.take(t, "select_travel", measure.Read(s.travel(s.best().width)))
	g.tellHold(t, s, step.MeanSpeed(part.head(from, to)), off)

	first, last := part.phase(g.name(phaseHeavy))
	droop := g.droop(mean, step.MeanSpeed(part.speed(first, last)))
	g.take(t, "speed_droop", droop)
	load := g.m.LoadStep
	light := g.hunts(part, from, to, float64(load.CollectiveLow))
	heavy := g.hunts(part, first, last, float64(load.CollectiveHigh))
	if heavy.Hunting() && heavy.Amplitude > light.Amplitude {
		light = heavy
	}
	g.readHunting(t, light)
	switch {
	case light.Hunting():
		g.tellHunting(t, light)
	case droop.OK() && droop.Value > droopLimit(g.setting):
		g.tellDroop(t, droop.Value)
	}
}

// droop is from the light to the heavy end of the load step.
func (g *governed) droop(light, heavy measure.Reading) measure.Reading {
	plant := heli.New(g.m.HeliParams(), stepTicks/16e6)
	if _, _, err := plant.Trim(float64(g.setting.HeadSpeed), float64(g.m.LoadStep.CollectiveHigh)); err != nil {
		return measure.Missing("%v", err)
	}
	return step.Droop(light, heavy, g.declared())
}

// swing is what was found about hunting, and where.
type swing struct {
	hunting.Finding
	part       *Trace
	from, to   int
	collective float64 // rad
}

// hunts looks for hunting in samples from..to.
func (g *governed) hunts(part *Trace, from, to int, collective float64) swing {
	return swing{hunting.Detect(part.speed(from, to), hunting.Config{}), part, from, to, collective}
}

func (g *governed) readHunting(t *test, s swing) {
	wide := measure.Read(0).With("%s", s.Why)
	frequency, amplitude := measure.Missing("it does not hunt"), measure.Missing("it does not hunt")
	switch {
	case s.Kind == hunting.Unknown:
		wide = measure.Missing("%s", s.Why)
	case s.Hunting():
		wide.Value = 200 * s.Amplitude / g.declared()
		frequency, amplitude = measure.Read(s.Frequency), measure.Read(s.Amplitude)
	}
	g.take(t, "hunting_swing", wide)
	g.take(t, "hunting_frequency", frequency)
	g.take(t, "hunting_amplitude", amplitude)
}

// tellHunting says that it hunts, and likely causes.
func (g *governed) tellHunting(t *test, s swing) {
	under := "light"
	if s.collective > float64(g.m.LoadStep.CollectiveLow) {
		under = "heavy"
	}
	t.found("%s: the governor hunts under %s load: the engine swings by ±%.0f rpm, %.1f times a second.",
		g.setting.Name, under, s.Amplitude, s.Frequency)
	for _, c := range huntingCauses(t.bench, s.Finding, s.part, s.from, s.to, s.collective, nil) {
		t.found("A likely cause: %s (%s).", c.Source, c.Why)
	}
	t.next("Turn the governor's gain down and run this again; sweep and tune tell by how much.")
}

// holdsNot reads what can be read where the wanted speed is not held.
func (g *governed) holdsNot(t *test, part *Trace) {
	u := g.unheld(part)
	g.explain(t, u)
	const why = "the engine did not become steady at the wanted speed within a minute"
	for _, name := range []string{"speed_droop", "select_width", "select_travel"} {
		g.take(t, name, measure.Missing(why))
	}
	if u.asleep() {
		for _, name := range []string{
			"governed_speed", "head_speed", "steady_state_speed_band", "speed_setting_error",
			"hunting_swing", "hunting_frequency", "hunting_amplitude",
		} {
			g.take(t, name, measure.Missing(why))
		}
		return
	}
	g.take(t, "governed_speed", measure.Read(u.speed))
	g.take(t, "head_speed", step.MeanSpeed(part.head(u.from, u.to)))
	g.take(t, "steady_state_speed_band", measure.Read(100*(u.top-u.low)/g.declared()))
	g.take(t, "speed_setting_error", measure.Read(100*(u.speed/g.declared()-1)))
	g.readHunting(t, u.swing)
}

// tellHold says what was found at a setting.
func (g *governed) tellHold(t *test, s *seeking, head, off measure.Reading) {
	best := s.best()
	wanted := float64(g.setting.HeadSpeed) * rpm
	t.found("%s: %.0f rpm wanted at the head, %.1f held with a select pulse of %.1f µs (%+.0f %% travel, where %.0f to %.0f µs are -100 to 100 %%).",
		g.setting.Name, wanted, head.Value, best.width*1e6, s.travel(best.width), s.low*1e6, s.high*1e6)
	if math.Abs(off.Value) > 100*s.near/s.wanted {
		g.tellUnreached(t, s)
	}
}

// tellUnreached says why no select width gives the wanted speed.
func (g *governed) tellUnreached(t *test, s *seeking) {
	best := s.best()
	held := best.speed / g.m.Ratio()
	other, both := s.across()
	switch {
	case both:
		t.found("%s: no select pulse gives it: the speed setting moves in coarse steps, and the nearest are %.0f and %.0f rpm at the head.",
			g.setting.Name, held, other.speed/g.m.Ratio())
	case best.width <= s.low+selectStep || best.width >= s.high-selectStep:
		t.found("%s: even at the end of the select travel the head turns at %.0f rpm.", g.setting.Name, held)
	default:
		t.found("%s: the nearest that %d select pulses came to it is %.0f rpm at the head.", g.setting.Name, len(s.tries), held)
	}
	t.next("%s: choose a head speed that the governor can be set to, such as %.0f rpm, or other gears.", g.setting.Name, held)
}

// tellDroop says what it means that the speed sags by so many %.
func (g *governed) tellDroop(t *test, sag float64) {
	t.found("%s: under the heavy load the speed stays %.1f %% lower: the governor does not bring it back (no integral part, or a very slow one).",
		g.setting.Name, sag)
	t.next("Look in the governor's manual for its integral, or for a mode with less droop.")
}
