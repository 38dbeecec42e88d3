package hold

import (
	"math"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure"
	"govrig/rig/measure/step"
	"govrig/rig/phase"
)

// readHold reads a setting that is held.
func readHold(g *governed.Governor, t *execution.Test, part *execution.Trace, s *governed.Search) {
	from, to := part.Span(g.Key(phase.Steady))
	mean := step.MeanSpeed(part.EngineSpeed(from, to))
	off := mean
	off.Value = 100 * (mean.Value/g.Declared() - 1)
	g.Take(t, "speed_setting_error", off)
	g.Take(t, "select_width", measure.Read(s.Best().Width*1e6))
	g.Take(t, "select_travel", measure.Read(s.Travel(s.Best().Width)))
	tellHold(g, t, s, step.MeanSpeed(part.HeadSpeed(from, to)), off)

	first, last := part.Span(g.Key(phase.Heavy))
	droop := g.Droop(mean, step.MeanSpeed(part.EngineSpeed(first, last)))
	g.Take(t, "speed_droop", droop)
	load := g.Machine.LoadStep
	light := g.Hunts(part, from, to, float64(load.CollectiveLow))
	heavy := g.Hunts(part, first, last, float64(load.CollectiveHigh))
	if heavy.Hunting() && heavy.Swing > light.Swing {
		light = heavy
	}
	g.ReadHunting(t, light)
	switch {
	case light.Hunting():
		g.TellHunting(t, light)
	case droop.OK() && droop.Value > governed.DroopLimit(g.Setting):
		g.TellDroop(t, droop.Value)
	}
}

// holdsNot reads what can be read where the wanted speed is not held.
func holdsNot(g *governed.Governor, t *execution.Test, part *execution.Trace) {
	u := g.Unheld(part)
	g.Explain(t, u)
	const why = "the engine did not become steady at the wanted speed within a minute"
	for _, name := range []string{"speed_droop", "select_width", "select_travel"} {
		g.Take(t, name, measure.Missing(why))
	}
	if u.Asleep() {
		for _, name := range []string{
			"governed_speed", "head_speed", "steady_state_speed_band", "speed_setting_error",
			"hunting_swing", "hunting_frequency", "hunting_amplitude",
		} {
			g.Take(t, name, measure.Missing(why))
		}
		return
	}
	g.Take(t, "governed_speed", measure.Read(u.Speed))
	g.Take(t, "head_speed", step.MeanSpeed(part.HeadSpeed(u.From, u.To)))
	g.Take(t, "steady_state_speed_band", measure.Read(100*(u.Top-u.Low)/g.Declared()))
	g.Take(t, "speed_setting_error", measure.Read(100*(u.Speed/g.Declared()-1)))
	g.ReadHunting(t, u.Swing)
}

// tellHold says what was found at a setting.
func tellHold(g *governed.Governor, t *execution.Test, s *governed.Search, head, off measure.Reading) {
	best := s.Best()
	wanted := float64(g.Setting.HeadSpeed) * execution.RPM
	t.Found("%s: %.0f rpm wanted at the head, %.1f held with a select pulse of %.1f µs (%+.0f %% travel, where %.0f to %.0f µs are -100 to 100 %%).",
		g.Setting.Name, wanted, head.Value, best.Width*1e6, s.Travel(best.Width), s.Low*1e6, s.High*1e6)
	if math.Abs(off.Value) > 100*s.Near/s.Wanted {
		tellUnreached(g, t, s)
	}
}

// tellUnreached says why no select width gives the wanted speed.
func tellUnreached(g *governed.Governor, t *execution.Test, s *governed.Search) {
	best := s.Best()
	held := best.Speed / g.Machine.Ratio()
	other, both := s.Across()
	switch {
	case both:
		t.Found("%s: no select pulse gives it: the speed setting moves in coarse steps, and the nearest are %.0f and %.0f rpm at the head.",
			g.Setting.Name, held, other.Speed/g.Machine.Ratio())
	case best.Width <= s.Low+governed.SelectStep || best.Width >= s.High-governed.SelectStep:
		t.Found("%s: even at the end of the select travel the head turns at %.0f rpm.", g.Setting.Name, held)
	default:
		t.Found("%s: the nearest that %d select pulses came to it is %.0f rpm at the head.", g.Setting.Name, len(s.Tries), held)
	}
	t.Next("%s: choose a head speed that the governor can be set to, such as %.0f rpm, or other gears.", g.Setting.Name, held)
}
