package sheet

import (
	"strconv"
	"strings"

	"govrig/sim/machine"
	"govrig/sim/unit"
)

// Transmitter is what the governor hears at its stick input.
type Transmitter struct {
	ZeroUS float64 `json:"us_at_0_percent"`
	FullUS float64 `json:"us_at_100_percent"`
	// Curves are those of the flight modes, in the order of the machine file.
	Curves []ThrottleCurve `json:"curves"`
	// Hold and Cut are null when the machine file does not give them.
	Hold *StickPoint `json:"hold"`
	Cut  *StickPoint `json:"engine_cut"`
}

// ThrottleCurve is that of one flight mode, from the bottom of the stick.
type ThrottleCurve struct {
	Mode string `json:"mode"`
	// Governed is set when the governor is to hold the speed over the whole
	// stick.
	Governed bool         `json:"governed"`
	Points   []StickPoint `json:"points"`
}

// StickPoint is what the transmitter sends at one place.
type StickPoint struct {
	Percent float64 `json:"percent"`
	PulseUS float64 `json:"us"`
}

// newTransmitter is nil without a transmitter.
func newTransmitter(t *machine.Transmitter) *Transmitter {
	if t == nil {
		return nil
	}
	at := func(share unit.Share) StickPoint { return StickPoint{100 * float64(share), 1e6 * t.Pulse(share)} }
	part := &Transmitter{ZeroUS: at(0).PulseUS, FullUS: at(1).PulseUS}
	for _, mode := range t.Modes {
		curve := ThrottleCurve{Mode: mode.Name, Governed: mode.Flown == machine.Governed}
		for _, share := range mode.Curve {
			curve.Points = append(curve.Points, at(share))
		}
		part.Curves = append(part.Curves, curve)
	}
	optional := func(share *unit.Share) *StickPoint {
		if share == nil {
			return nil
		}
		point := at(*share)
		return &point
	}
	part.Hold, part.Cut = optional(t.Hold), optional(t.EngineCut)
	return part
}

func (t *Transmitter) text(p *page) {
	if t == nil {
		return
	}
	p.heading("Transmitter, as the governor hears it")
	p.line("  0 %% is %.0f µs, 100 %% is %.0f µs.", t.ZeroUS, t.FullUS)
	for _, c := range t.Curves {
		flown := "not governed"
		if c.Governed {
			flown = "governed over the whole stick"
		}
		p.line("  %s, %s, from the bottom of the stick to its top", c.Mode, flown)
		c.row(p, "percent", func(s StickPoint) float64 { return s.Percent })
		c.row(p, "µs", func(s StickPoint) float64 { return s.PulseUS })
	}
	t.Hold.text(p, "Throttle hold")
	t.Cut.text(p, "Engine cut")
	p.item("  ", "The bench finds where the governor engages and disengages: a curve that is flown governed stays above both, hold stays below both and lets the engine idle, the cut shuts the barrel.")
}

func (c ThrottleCurve) row(p *page, name string, value func(StickPoint) float64) {
	var b strings.Builder
	for _, point := range c.Points {
		text := strconv.FormatFloat(value(point), 'f', 0, 64)
		b.WriteString(strings.Repeat(" ", max(1, 5-len(text))) + text)
	}
	p.line("    %-8s%s", name, b.String())
}

func (s *StickPoint) text(p *page, name string) {
	if s != nil {
		p.line("  %s: %.0f %%, %.0f µs.", name, s.Percent, s.PulseUS)
	}
}
