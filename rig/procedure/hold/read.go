package hold

import (
	"fmt"
	"math"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/finding"
	"govrig/rig/measure"
	"govrig/rig/measure/hunting"
	"govrig/sim/machine"
)

// read reads a setting that is held.
func (h *holding) read(light, heavy steady, s *governed.Search) {
	g, t := h.g, h.t
	mean, band := light.speed.Mean(), light.speed.Band(g.Declared())
	off := mean
	off.Value = 100 * (mean.Value/g.Declared() - 1)
	g.Take(t, "speed_setting_error", off)
	h.readSelect(s)
	g.ReadBlades(t, h.most)
	tellHold(g, t, s, light.head.Mean(), off)

	droop := g.Droop(mean, heavy.speed.Mean())
	if droop.OK() && !h.rested && math.Abs(droop.Value) < band.Value {
		droop = measure.Missing("under the heavy load the speed does not come to rest, and wanders farther than it sags")
	}
	g.Take(t, "speed_droop", droop)
	swing := worse(light.swing, heavy.swing)
	g.ReadHunting(t, swing)
	switch {
	case swing.Hunting() && 100*swing.Finding.Swing <= governed.MostHunting*g.Declared():
		t.Found("%s: a small swing lasts, of ±%.0f rpm, %.2g times a second: within what is allowed.", g.Setting.Name, swing.Finding.Swing/2, swing.Frequency)
	case swing.Hunting():
		g.TellHunting(t, swing)
		h.swings = append(h.swings, swing)
	case g.TellWeak(t, &heavy.newest, 0, len(heavy.newest.Time), float64(g.Machine.LoadStep.CollectiveHigh)):
	case droop.OK() && droop.Value > governed.DroopLimit(g.Setting) && g.Droops(droop.Value, mean, h.back):
		g.TellDroop(t, droop.Value)
	case !withinBand(g, band):
		g.TellRoughness(t, light.swing)
	}
}

// readSelect reads how the speed was asked for.
func (h *holding) readSelect(s *governed.Search) {
	g, best := h.g, s.Best()
	kind := g.Machine.Governor.Select
	if kind != machine.SelectContinuous {
		g.Take(h.t, "setting_to_turn", measure.Read(100*(s.Wanted/best.Speed-1)))
	} else {
		g.Take(h.t, "select_travel", measure.Read(s.Travel(best.Width)))
	}
	if kind != machine.SelectNone {
		g.Take(h.t, "select_width", measure.Read(best.Width*1e6))
	}
}

// worse is the swing that says more: the wider of those that hunt, or else the one
// of which it cannot be told.
func worse(light, heavy governed.Swing) governed.Swing {
	switch {
	case heavy.Hunting() && (!light.Hunting() || heavy.Finding.Swing > light.Finding.Swing):
		return heavy
	case !light.Hunting() && heavy.Kind == hunting.Unknown:
		return heavy
	}
	return light
}

// withinBand reports whether a band, %, keeps the machine file's limit.
func withinBand(g *governed.Governor, band measure.Reading) bool {
	limit := g.Setting.Limits.Band
	return limit == nil || !band.OK() || band.Value <= 100*float64(*limit)
}

// causes says what makes the governor hunt, where it does.
func (h *holding) causes() error {
	if len(h.swings) == 0 {
		return nil
	}
	return h.g.TellCauses(h.t, h.swings...)
}

// not says why the wanted speed is not held. Of what was declared only the speed
// and the swing can be measured then, and only of a governor that governs.
func (h *holding) not(part *execution.Trace) {
	g, t := h.g, h.t
	u := g.Unheld(part)
	taken := map[string]bool{}
	take := func(name string, r measure.Reading) {
		taken[name] = true
		g.Take(t, name, r)
	}
	switch u.Unheld.Kind {
	case finding.Hunts, finding.Unsteady:
		if u.Hunts() {
			g.TellHunting(t, u.Swing)
			h.swings = append(h.swings, u.Swing)
		}
		g.ReadHunting(t, u.Swing)
		taken["hunting_swing"], taken["hunting_frequency"], taken["hunting_amplitude"] = true, true, true
	case finding.Miscounts, finding.Expects, finding.OtherSpeed:
		take("governed_speed", measure.Read(u.Speed))
		take("head_speed", measure.Read(u.Speed/g.Machine.Ratio()))
		take("speed_setting_error", measure.Read(100*(u.Speed/g.Declared()-1)))
	}
	if !u.Hunts() {
		g.Explain(t, u)
	}
	for _, d := range holdMeasures(g.Machine, g.Setting) {
		if !taken[d.Name] {
			g.Take(t, d.Name, measure.Missing("%s", g.WhyNot()))
		}
	}
}

// tellHold says what was found at a setting.
func tellHold(g *governed.Governor, t *execution.Test, s *governed.Search, head, off measure.Reading) {
	best := s.Best()
	wanted := float64(g.Setting.HeadSpeed) * execution.RPM
	how := fmt.Sprintf("with a select pulse of %.1f µs (%+.0f %% travel, where %.0f to %.0f µs are -100 to 100 %%)",
		best.Width*1e6, s.Travel(best.Width), s.Low*1e6, s.High*1e6)
	switch g.Machine.Governor.Select {
	case machine.SelectNone:
		how = "as it is set at the governor"
	case machine.SelectSteps:
		how = fmt.Sprintf("as it is stored in the governor for a select pulse of %.0f µs", best.Width*1e6)
	}
	t.Found("%s: %.0f rpm wanted at the head, %.1f held %s.", g.Setting.Name, wanted, head.Value, how)
	g.TellUnreached(t, s, off.Value)
}
