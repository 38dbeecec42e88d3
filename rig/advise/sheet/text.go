package sheet

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strings"

	"govrig/sim/machine"
	"govrig/sim/words"
)

// page collects the text; lines never grow beyond words.Columns.
type page struct{ bytes.Buffer }

func (p *page) line(format string, args ...any) {
	p.WriteString(strings.TrimRight(fmt.Sprintf(format, args...), " ") + "\n")
}

func (p *page) heading(title string) { p.line("\n%s", strings.ToUpper(title)) }

// item is a wrapped paragraph that hangs under its mark.
func (p *page) item(mark, text string) { p.WriteString(words.Hang(mark, text)) }

// WriteText lays the sheet out for a person: one page, at most words.Columns wide.
func (s *Sheet) WriteText(w io.Writer) error {
	p := &page{}
	p.line("SET-UP SHEET   %s", s.Machine)
	p.line("Worked out from the machine file. Nothing here has been measured: tick each line at the bench.")
	s.gearsText(p)
	s.speedsText(p)
	s.Transmitter.text(p)
	s.Throttle.text(p)
	s.Pickup.text(p)
	s.boardText(p)
	if s.Start != nil {
		if err := s.Start.WriteText(p); err != nil {
			return err
		}
	}
	s.endText(p)
	_, err := w.Write(p.Bytes())
	return err
}

func (s *Sheet) gearsText(p *page) {
	p.heading("Gears")
	p.line("  %s", s.Gears.Sentence())
}

// Sentence says the ratio and what it comes from.
func (g Gears) Sentence() string {
	source := fmt.Sprintf("teeth %d : %d", g.DrivenTeeth, g.DrivingTeeth)
	if g.ByRatio {
		source = "by the ratio in the machine file"
	}
	return fmt.Sprintf("The engine turns %.4f times for one turn of the head (%s).", g.Ratio, source)
}

func (s *Sheet) speedsText(p *page) {
	p.heading("Head speeds")
	p.line("                 wanted         | set the governor to     | what then turns")
	p.line("                 head    engine | engine  select    head  | pickup   pulse   blade tips   energy")
	p.line("                 rpm     rpm    | rpm     µs        rpm   | per s    ms      m/s    Mach  J")
	for _, r := range s.Speeds {
		p.line("  %-13s %5.0f  %7.1f | %6.0f  %6s  %7.1f | %6.1f  %6s   %5.1f  %.3f %6.0f",
			clip(r.Name, 13), r.WantedHeadRPM, r.WantedEngineRPM,
			r.SetEngineRPM, orDash("%.0f", r.SelectUS), r.SetHeadRPM,
			r.PulsesPerSecond, orDash("%.3f", r.PulseWidthUS/1000), r.TipSpeedMS, r.TipMach, r.StoredJ)
	}
	p.item("  ", s.selectText())
}

func (s *Sheet) selectText() string {
	switch machine.SelectKind(s.Select) {
	case machine.SelectNone:
		return "The governor has no select input: set it to these engine speeds at the governor itself; the bench finds what it holds."
	case machine.SelectSteps:
		return "The select width picks one of the speeds that are stored in the governor: store these engine speeds; the bench finds what each holds."
	}
	return "The select width lies on a straight line between the governor's two ends; the bench finds the true one."
}

func orDash(format string, v float64) string {
	if v == 0 {
		return "-"
	}
	return fmt.Sprintf(format, v)
}

func clip(s string, n int) string {
	if r := []rune(s); len(r) > n {
		return string(r[:n-1]) + "…"
	}
	return s
}

func (t Throttle) text(p *page) {
	p.heading("Throttle linkage")
	p.line("  Rod as built %.1f mm; %.1f mm stands both arms square at mid travel.", t.RodMM, t.SquareRodMM)
	p.line("                                                 as built     square rod")
	row := func(name string, value func(*Course) string) {
		square := "no reach"
		if t.Square != nil {
			square = value(t.Square)
		}
		p.line("  %-42s %12s   %12s", name, value(t.AsBuilt), square)
	}
	row("carburettor arm at mid travel", func(c *Course) string { return fmt.Sprintf("%.1f°", c.MidCarbDeg) })
	row("it turns, to open / to closed", func(c *Course) string { return fmt.Sprintf("%.1f°/%.1f°", c.OpenThrowDeg, c.ClosedThrowDeg) })
	row("the two sides differ by", func(c *Course) string { return fmt.Sprintf("%.1f %%", math.Abs(c.AsymmetryPercent)) })
	row("slope, arm for servo arm", func(c *Course) string { return fmt.Sprintf("%.2f to %.2f", c.SlopeMin, c.SlopeMax) })
	row("slope changes by", func(c *Course) string { return fmt.Sprintf("±%.1f %%", c.SlopeSpreadPercent) })
	row("closest that rod and arm come to one line", func(c *Course) string { return fmt.Sprintf("%.0f°", c.WorstAngleDeg) })
	row("open area grows, steepest over flattest", growth)
	t.table(p)
}

func growth(c *Course) string {
	if c.Flattest.PerTravel <= 0 {
		return "stops growing"
	}
	return times(c.GainRatio())
}

// table shows the course at every quarter of the half travel.
func (t Throttle) table(p *page) {
	row := func(name string, c *Course, format string, value func(Spot) float64) {
		p.line("  %-33s%s", name, c.cells(format, value))
	}
	area := func(s Spot) float64 { return s.AreaPct }
	row("servo travel, %", t.AsBuilt, "%7.0f", func(s Spot) float64 { return s.TravelPercent })
	row("servo arm, °", t.AsBuilt, "%7.1f", func(s Spot) float64 { return s.ServoDeg })
	row("carburettor arm, °", t.AsBuilt, "%7.1f", func(s Spot) float64 { return s.CarbDeg })
	row("barrel, ° short of fully open", t.AsBuilt, "%7.1f", func(s Spot) float64 { return s.BarrelDeg })
	row("open area, %", t.AsBuilt, "%7.1f", area)
	if t.Square != nil {
		row("open area with the square rod, %", t.Square, "%7.1f", area)
	}
}

// cells hold every tenth point.
func (c *Course) cells(format string, value func(Spot) float64) string {
	var b strings.Builder
	for i := 0; i < len(c.Points); i += 10 {
		text := fmt.Sprintf(format, value(c.Points[i]))
		if strings.Trim(text, " 0.") == "-" {
			text = strings.Replace(text, "-", " ", 1)
		}
		b.WriteString(text)
	}
	return b.String()
}

func (k PickupPart) text(p *page) {
	p.heading("Pickup")
	p.line("  %s on the wheel. The governor is told %s for one turn of the engine.",
		words.Count(k.Magnets, "magnet"), words.Count(k.GovernorPulses, "pulse"))
	p.item("  ", fmt.Sprintf("Gap %.1f mm: the field is %.1f times what the least sensitive sensor needs. Its largest gap is %.1f mm.",
		k.GapMM, k.Margin, k.LargestGapMM))
	p.line("  how the magnet stands                    pulses a turn   worst part    width, %% of turn   margin")
	for _, a := range k.Orientations {
		mark := " "
		if a.AsBuilt {
			mark = "»"
		}
		pulses := fmt.Sprint(a.PulsesPerTurn)
		if a.StuckOn {
			pulses = "stays on"
		}
		p.line(" %s %-40s %9s %12d %18s %11.1f", mark, a.Words, pulses, a.WorstPulses, orDash("%.1f", a.WidthPercent), a.Margin)
	}
	p.line("  » as in the machine file. The sensor's face looks the same way throughout.")
}

func (s *Sheet) boardText(p *page) {
	b := s.Board
	p.heading("The rig's board")
	verdict := "It can play every speed above"
	if !b.PlaysAll {
		verdict = "It cannot play every speed above"
	}
	p.item("  ", fmt.Sprintf("%s. It plays %.0f to %.0f pulses a second, %.0f µs long and %.0f µs apart at least; one tick of %.1f ns moves the engine by %.1f rpm at the most.",
		verdict, b.MinPerSecond, b.MaxPerSecond, b.MinWidthUS, b.MinGapUS, b.TickNS, s.worstTick()))
}

func (s *Sheet) worstTick() float64 {
	worst := 0.0
	for _, r := range s.Speeds {
		worst = max(worst, r.TickErrorRPM)
	}
	return worst
}

func (s *Sheet) endText(p *page) {
	p.heading("What to change")
	if len(s.Changes) == 0 {
		p.line("  Nothing.")
	}
	for i, change := range s.Changes {
		p.item(fmt.Sprintf("  %d. ", i+1), change)
	}
	p.heading("Before anything turns")
	for _, caution := range s.Cautions {
		p.item("  - ", caution)
	}
	if len(s.Assumed) > 0 {
		p.line("\nAssumed, because the machine file leaves them out: %s; --json lists them.", words.Count(len(s.Assumed), "value"))
	}
}
