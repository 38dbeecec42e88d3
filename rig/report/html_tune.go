package report

import (
	"fmt"
	"math"
	"slices"

	"govrig/rig/procedure"
	"govrig/rig/report/figure"
)

// gains draws the margins and the dip against the gain.
func (r *reported) gains() (pictures []picture, err error) {
	points := slices.DeleteFunc(slices.Clone(r.again.Tune), func(p procedure.TunePoint) bool { return p.Why != "" })
	if len(points) == 0 {
		return nil, nil
	}
	slices.SortFunc(points, func(a, b procedure.TunePoint) int { return a.Position - b.Position })
	p := picture{Title: "margins and dip against the gain"}
	least, most := math.Inf(1), 0.0
	for _, point := range points {
		least, most = math.Min(least, point.Gain), math.Max(most, point.Gain)
	}
	f := figure.Figure{
		Title: p.Title, Width: smallWidth,
		Axis: figure.Axis{Label: "gain as measured, µs of throttle for 1000 rpm", Log: true, Low: least / 1.15, High: most * 1.15},
		Panels: []figure.Panel{
			r.gainPanel(points, "phase margin, degrees", "recommended_phase_margin", func(p procedure.TunePoint) float64 { return p.Phase }),
			r.gainPanel(points, "gain margin, dB", "recommended_gain_margin", func(p procedure.TunePoint) float64 { return p.Margin }),
			r.gainPanel(points, "dip on load on, %", "recommended_dip", func(p procedure.TunePoint) float64 { return p.Dip }),
		},
	}
	r.keep(points, &f, &p)
	for _, point := range r.again.Tune {
		if point.Why != "" {
			p.Notes = append(p.Notes, note{fmt.Sprintf("position %s not measured: %s", signed(point.Position), point.Why), "notrun"})
		}
	}
	p.SVG, err = f.SVG()
	return []picture{p}, err
}

// gainPanel draws one measure over the gain, each point with its position, with
// the limit of the recommended position drawn in.
func (r *reported) gainPanel(points []procedure.TunePoint, label, limited string, value func(procedure.TunePoint) float64) figure.Panel {
	p := figure.Panel{Label: label, Height: 104}
	c := figure.Curve{Pen: figure.First}
	for _, point := range points {
		if v := value(point); !math.IsInf(v, 0) {
			c.X, c.Y = append(c.X, point.Gain), append(c.Y, v)
			p.Marks = append(p.Marks, figure.Mark{X: point.Gain, Y: v, Label: signed(point.Position)})
		}
	}
	p.Curves = []figure.Curve{c, {X: c.X, Y: c.Y, Pen: c.Pen, Dots: true}}
	least, most := extent(p.Curves)
	if m := r.run.Result.Find(limited); m != nil && m.Limit != nil && m.Limit.Min != nil {
		z := figure.Zone{X0: 0, X1: math.Inf(1), Y0: math.Inf(-1), Y1: *m.Limit.Min}
		p.Zones = []figure.Zone{z}
		least, most = z.Reach(least, most)
	}
	room := 0.12 * math.Max(most-least, 1)
	p.Low, p.High = least-room, most+room
	return p
}

// keep draws a line through the recommended position.
func (r *reported) keep(points []procedure.TunePoint, f *figure.Figure, p *picture) {
	m := r.run.Result.Find("recommended_position")
	if m == nil || m.Value == nil {
		p.Notes = append(p.Notes, note{"no position keeps the margins", "fail"})
		return
	}
	for _, point := range points {
		if float64(point.Position) != *m.Value {
			continue
		}
		for i := range f.Panels {
			f.Panels[i].Rules = append(f.Panels[i].Rules, figure.Rule{At: point.Gain, Upright: true, Pen: figure.Wanted})
		}
		p.Notes = append(p.Notes, note{"keep position " + signed(point.Position), "pass"})
	}
}

// signed writes a position.
func signed(n int) string {
	if n == 0 {
		return "0"
	}
	return tidy(fmt.Sprintf("%+d", n))
}
