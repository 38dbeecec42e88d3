package predict

import (
	"fmt"
	"io"
	"strings"

	"govrig/sim/words"
)

// page collects the text.
type page struct{ strings.Builder }

func (p *page) line(format string, args ...any) {
	p.WriteString(strings.TrimRight(fmt.Sprintf(format, args...), " ") + "\n")
}

// item is a paragraph that hangs under its mark.
func (p *page) item(mark, text string) { p.WriteString(words.Hang(mark, text)) }

// WriteText lays the prediction out for a person.
func (p *Prediction) WriteText(w io.Writer) error {
	t := &page{}
	t.line("PREDICTION   %s, speed setting %q", p.Machine, p.Speed)
	if p.Governor == "" {
		t.item("", "Simulated engine, simulated governor: nothing here has been measured. The gains are those of the stand-in governor; a real one's setting has a scale of its own.")
	} else {
		t.item("", "Simulated engine, simulated governor: what was measured is the governor on its own bench, not this machine. The governor is that of the file, "+p.Governor+"; its knob has a scale of its own.")
	}
	t.line("\nLOAD STEP")
	t.item("  ", fmt.Sprintf("%.0f rpm at the head; the governor can be set to %.1f. Collective from %.1f° to %.1f° in %.0f ms, then the speed is watched for %.1f s.",
		p.WantedHeadRPM, p.SetHeadRPM, p.Load.LowDeg, p.Load.HighDeg, 1000*p.Load.Ramp, p.Load.Watched))
	p.legend(t)
	if len(p.Cases) > 1 {
		p.summary(t)
	}
	for i := range p.Cases {
		p.caseText(t, &p.Cases[i])
	}
	t.line("\nBEFORE YOU CHANGE A GAIN")
	t.item("  - ", "Run govrig loadstep and govrig hold with the real governor on the bench. Take from here how gain and time trade against each other, not the numbers.")
	t.item("  - ", "A governor that hunts shakes blades, clutch and tail drive. Engine stopped, people out of the plane of the blades, and the makers' manuals first.")
	_, err := io.WriteString(w, t.String())
	return err
}

// summary holds the cases beside each other.
func (p *Prediction) summary(t *page) {
	t.line("\nTHE BEST SETTING OF EACH")
	t.line("  %-28s %9s %8s %9s %7s %14s", "", "gain", "time", "recovery", "dip", "margins")
	t.line("  %-28s %9s %8s %9s %7s %14s", "", "%/krpm", "s", "s", "%", "gain, phase")
	for i := range p.Cases {
		c := &p.Cases[i]
		if best := c.best(); best != nil {
			t.line("  %-28s %9.3g %8.3g %9.2f %7.1f %14s", c.Name, best.Gain, best.Time, *best.Recovery, -*best.Deviation, best.margins())
		} else {
			t.item(fmt.Sprintf("  %-28s ", c.Name), c.whyNone())
		}
	}
}

func (c *Case) whyNone() string {
	if c.Problem != "" {
		return "no load step: " + c.Problem
	}
	return c.Reason
}

// margins are a cell's margins in words.
func (c *Cell) margins() string { return marginWords(c.GainMargin, c.PhaseMargin) }

func marginWords(gain, phase *float64) string {
	word := func(v *float64, format string) string {
		if v == nil {
			return "-"
		}
		return fmt.Sprintf(format, *v)
	}
	return word(gain, "%.1f") + ", " + word(phase, "%.0f°")
}

func (p *Prediction) caseText(t *page, c *Case) {
	if len(p.Cases) > 1 {
		t.line("\n%s\n%s", strings.ToUpper(c.Name), strings.Repeat("=", words.Width(c.Name)))
	}
	if c.Problem != "" {
		t.item("  ", c.whyNone())
		return
	}
	p.heatMap(t, c, "RECOVERY TIME, s", recovery)
	p.heatMap(t, c, "DIP, % of the wanted speed", dip)
	t.line("\nBEST SETTING")
	if best := c.best(); best != nil {
		t.item("  ", best.words()+".")
		t.item("  ", "Why: "+c.Reason+".")
	} else {
		t.item("  ", "None: "+c.Reason+".")
	}
	if c.Own >= 0 && c.Own != c.Best {
		t.item("  ", p.own()+": "+c.Cells[c.Own].words()+".")
	}
	c.plantsText(t)
}

// own says where the gain and time come from that the governor has.
func (p *Prediction) own() string {
	if p.Governor == "" {
		return "As in the machine file"
	}
	return "As it was measured"
}

// words are a cell in words.
func (c *Cell) words() string {
	s := fmt.Sprintf("gain %.3g %%/krpm, integral time %.3g s: ", c.Gain, c.Time)
	if c.Outcome != Holds {
		return s + c.Why
	}
	s += fmt.Sprintf("recovery %.2f s, dip %.1f %%, speed band %.2f %%, gain and phase margin %s", *c.Recovery, -*c.Deviation, *c.Band, c.margins())
	if len(c.Misses) > 0 {
		s += "; misses " + strings.Join(c.Misses, ", ")
	}
	return s
}

func (c *Case) plantsText(t *page) {
	t.line("\nTHE MACHINE LINEARISED, THROTTLE PULSE TO ENGINE SPEED")
	t.line("  %-9s %5s %6s %7s %9s %9s   %-20s %9s  %s", "speed", "head", "pitch", "open", "gain", "load", "poles", "dead time", "margins")
	t.line("  %-9s %5s %6s %7s %9s %9s   %-20s %9s  %s", "", "rpm", "", "%", "rpm per %", "rpm per °", "1/s", "ms", "of the best")
	for _, p := range c.Plants {
		head := fmt.Sprintf("  %-9s %5.0f %5.1f°", clip(p.Speed, 9), p.HeadRPM, p.CollectiveDeg)
		if p.Problem != "" {
			t.item(head+"   ", p.Problem)
			continue
		}
		t.line("%s %7.1f %9.0f %9.0f   %-20s %4.1f +%3.0f  %s", head, p.Opening, p.Gain, p.LoadGain, polesWords(p.Poles), p.EngineDelay, p.ServoLatency, p.margins())
	}
	t.item("  ", "Gain is for 1 % of throttle travel, load for 1° of collective with the throttle held; dead time is the engine's and the servo's; margins are gain and phase, with ! below what is good.")
}

// margins of the best setting, with a mark where they are too small.
func (p *Plant) margins() string {
	s := marginWords(p.GainMargin, p.PhaseMargin)
	if p.GainMargin != nil && *p.GainMargin < leastGainMargin || p.PhaseMargin != nil && *p.PhaseMargin < leastPhaseMargin {
		s += " !"
	}
	return s
}

// polesWords writes a complex pair once.
func polesWords(poles []Pole) string {
	var words []string
	for _, p := range poles {
		switch {
		case p.Im == 0:
			words = append(words, fmt.Sprintf("%.3g", p.Re))
		case p.Im > 0:
			words = append(words, fmt.Sprintf("%.3g±%.2gj", p.Re, p.Im))
		}
	}
	return strings.Join(words, "  ")
}

func clip(s string, n int) string {
	if r := []rune(s); len(r) > n {
		return string(r[:n-1]) + "…"
	}
	return s
}
