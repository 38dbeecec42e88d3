package report

import (
	"fmt"
	"html/template"
	"math"

	"govrig/rig/advise/sheet"
	"govrig/rig/measure"
	"govrig/sim/pickup"
	"govrig/sim/words"
)

// setup is the set-up sheet on a page.
type setup struct {
	Gears      string
	Speeds     []setupSpeed
	Found      bool // there are select pulses found on the bench
	Throttle   [][2]string
	Pickup     [][2]string
	PickupSVG  template.HTML
	Changes    []string
	AssumedAll []string
}

type setupSpeed struct {
	Name, Head, Engine, Set, SetHead, Select, Found, Pulses, Tip, Energy string
}

// setup works the sheet out from the machine file in the record.
func (d *Document) setup() (*setup, []string, error) {
	s, err := sheet.New(sheet.FromMachine(d.machine, sheet.HobbyBoard()))
	if err != nil {
		return nil, nil, fmt.Errorf("set-up sheet: %w", err)
	}
	out := &setup{
		Gears:    s.Gears.Sentence(),
		Throttle: throttleFacts(&s.Throttle), Pickup: pickupFacts(&s.Pickup, d.machine.PickupParams()),
		PickupSVG: pickupDrawing(d.machine.PickupParams()),
		Changes:   s.Changes, AssumedAll: s.Assumed,
	}
	for _, row := range s.Speeds {
		speed := setupRow(&row)
		speed.Found = d.selectFound(row.Name)
		out.Found = out.Found || speed.Found != ""
		out.Speeds = append(out.Speeds, speed)
	}
	return out, s.Cautions, nil
}

func setupRow(r *sheet.SpeedRow) setupSpeed {
	s := setupSpeed{
		Name: r.Name, Head: fmt.Sprintf("%.0f", r.WantedHeadRPM), Engine: fmt.Sprintf("%.0f", r.WantedEngineRPM),
		Set: fmt.Sprintf("%.0f", r.SetEngineRPM), SetHead: fmt.Sprintf("%.1f", r.SetHeadRPM), Select: "–",
		Pulses: fmt.Sprintf("%.1f", r.PulsesPerSecond), Tip: fmt.Sprintf("%.0f", r.TipSpeedMS), Energy: fmt.Sprintf("%.0f", r.StoredJ),
	}
	if r.SelectUS > 0 {
		s.Select = fmt.Sprintf("%.0f", r.SelectUS)
	}
	return s
}

// selectFound is the select pulse that the newest hold found for a setting.
func (d *Document) selectFound(setting string) (found string) {
	for _, r := range d.runs {
		if m := r.run.Result.Get(measure.Key{What: "select_width", Setting: setting}); m != nil && m.Value != nil {
			found = fmt.Sprintf("%.0f", *m.Value)
		}
	}
	return found
}

func throttleFacts(t *sheet.Throttle) [][2]string {
	built := t.AsBuilt
	return [][2]string{
		{"rod as built", fmt.Sprintf("%.1f mm", t.RodMM)},
		{"rod that stands both arms square at mid travel", fmt.Sprintf("%.1f mm", t.SquareRodMM)},
		{"carburettor arm turns, to open / to closed", fmt.Sprintf("%.1f° / %.1f°", built.OpenThrowDeg, built.ClosedThrowDeg)},
		{"the two sides differ by", fmt.Sprintf("%.1f %%", math.Abs(built.AsymmetryPercent))},
		{"slope changes over the travel by", fmt.Sprintf("±%.1f %%", built.SlopeSpreadPercent)},
	}
}

func pickupFacts(p *sheet.PickupPart, built pickup.Params) [][2]string {
	pulses := fmt.Sprintf("%d a turn", p.PulsesPerTurn)
	if p.StuckOn {
		pulses = "none: it stays on"
	}
	return [][2]string{
		{"magnet", magnetWords(built)},
		{"mounted", p.Words},
		{"pulses", fmt.Sprintf("%s; the governor is told %d", pulses, p.GovernorPulses)},
		{"width", fmt.Sprintf("%.1f %% of the turn", p.WidthPercent)},
		{"field at the closest pass", words.Minus(fmt.Sprintf("%.0f mT, %.1f times what the least sensitive sensor needs", p.PeakMT, p.Margin))},
		{"gap as built / largest", fmt.Sprintf("%.1f mm / %.1f mm", p.GapMM, p.LargestGapMM)},
	}
}
