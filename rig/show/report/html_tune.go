package report

import (
	"fmt"
	"math"
	"slices"

	"govrig/rig/pen"
	"govrig/rig/runlog"
	"govrig/sim/words"
)

// gainCharts draws the margins and the dip against the gain.
func (r *reported) gainCharts() (pictures []picture) {
	points := slices.Clone(r.gains)
	if len(points) == 0 {
		return nil
	}
	slices.SortFunc(points, func(a, b runlog.GainPosition) int { return a.Position - b.Position })
	least, most := math.Inf(1), 0.0
	for _, point := range points {
		least, most = math.Min(least, point.Gain), math.Max(most, point.Gain)
	}
	axis := pen.Axis{Label: "gain, µs of throttle for 1000 rpm", Log: true, Low: least / 1.15, High: most * 1.15}
	for _, of := range []struct {
		title, label, limited string
		value                 func(runlog.GainPosition) float64
	}{
		{"phase margin against the gain", "phase margin, degrees", "recommended_phase_margin", func(p runlog.GainPosition) float64 { return known(p.Phase) }},
		{"gain margin against the gain", "gain margin, dB", "recommended_gain_margin", func(p runlog.GainPosition) float64 { return known(p.Margin) }},
		{"dip against the gain", "dip on load on, %", "recommended_dip", func(p runlog.GainPosition) float64 { return p.Dip }},
	} {
		p := picture{Title: of.title, Notes: r.kept(of.limited)}
		panel := r.gainPanel(points, of.label, of.limited, of.value)
		panel.Rules = r.keep(points)
		f := pen.Figure{Title: of.title, Width: smallWidth, Axis: axis, Panels: []pen.Panel{panel}}
		p.SVG = f.Draw().HTML()
		pictures = append(pictures, p)
	}
	return pictures
}

// known is a margin; endless where there is none.
func known(margin *float64) float64 {
	if margin == nil {
		return math.Inf(1)
	}
	return *margin
}

// kept is a measure of the position to keep, as a note.
func (r *reported) kept(name string) []note {
	m, position := r.run.Result.Find(name), r.run.Result.Find("recommended_position")
	if m == nil || m.Value == nil || position == nil || position.Value == nil {
		return []note{{"no position keeps the margins", "fail"}}
	}
	return []note{{fmt.Sprintf("at %s: %s", signed(int(*position.Value)), limited(m)), class(m)}}
}

// gainPanel draws one measure over the gain, each point with its position, with
// the limit of the recommended position drawn in.
func (r *reported) gainPanel(points []runlog.GainPosition, label, limited string, value func(runlog.GainPosition) float64) pen.Panel {
	p := pen.Panel{Label: label, Height: 94}
	c := pen.Curve{Stroke: pen.First}
	for _, point := range points {
		if v := value(point); !math.IsInf(v, 0) {
			c.X, c.Y = append(c.X, point.Gain), append(c.Y, v)
			p.Marks = append(p.Marks, pen.Mark{X: point.Gain, Y: v, Label: signed(point.Position), Above: true})
		}
	}
	p.Curves = []pen.Curve{c, {X: c.X, Y: c.Y, Stroke: c.Stroke, Dots: true}}
	least, most, _ := pen.Extent(p.Curves)
	if m := r.run.Result.Find(limited); m != nil && m.Limit != nil && m.Limit.Min != nil {
		z := pen.Zone{X0: 0, X1: math.Inf(1), Y0: math.Inf(-1), Y1: *m.Limit.Min}
		p.Zones = []pen.Zone{z}
		least, most = z.Reach(least, most)
	}
	room := 0.24 * math.Max(most-least, 1)
	p.Low, p.High = least-room, most+room
	return p
}

// keep is a line through the recommended position.
func (r *reported) keep(points []runlog.GainPosition) []pen.Rule {
	m := r.run.Result.Find("recommended_position")
	if m == nil || m.Value == nil {
		return nil
	}
	for _, point := range points {
		if float64(point.Position) == *m.Value {
			return []pen.Rule{{At: point.Gain, Upright: true, Stroke: pen.Wanted}}
		}
	}
	return nil
}

// signed writes a position.
func signed(n int) string {
	if n == 0 {
		return "0"
	}
	return words.Minus(fmt.Sprintf("%+d", n))
}
