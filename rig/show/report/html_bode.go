package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"govrig/rig/measure"
	"govrig/rig/pen"
	"govrig/rig/runlog"
	"govrig/sim/words"
)

// bodes draws the loop's response at each setting that was swept, light and
// heavy load in one figure.
func (r *reported) bodes() (pictures []picture) {
	points := r.loops
	for len(points) > 0 {
		n := 1
		for n < len(points) && points[n].Setting == points[0].Setting {
			n++
		}
		pictures, points = append(pictures, r.bode(points[:n])), points[n:]
	}
	return pictures
}

// bode draws the points of one setting.
func (r *reported) bode(points []runlog.Loop) picture {
	p := picture{Title: points[0].Setting + ": margins, must be " + r.marginLimits(&points[0])}
	gain := pen.Panel{Label: "gain of the loop, dB", Height: 82, Low: -20, High: 20, Step: 20,
		Rules: []pen.Rule{{At: 0, Stroke: pen.Event}}}
	phase := pen.Panel{Label: "phase, degrees", Height: 82, Low: -270, High: -90, Step: 45,
		Rules: []pen.Rule{{At: -180, Stroke: pen.Event}}}
	axis := pen.Axis{Label: "frequency, Hz", Log: true, Low: math.Inf(1)}
	for i := range points {
		s := bodePoint{Loop: &points[i], stroke: [...]pen.Stroke{pen.First, pen.Second}[i%2], all: points}
		r.drawLoop(s, &gain, &phase)
		axis.Low, axis.High = math.Min(axis.Low, slices.Min(s.Frequency)), math.Max(axis.High, slices.Max(s.Frequency))
		p.Notes = append(p.Notes, r.margins(s)...)
	}
	least, most, _ := pen.Extent(gain.Curves)
	gain.Low, gain.High = math.Min(-20, 10*math.Floor(least/10)), math.Max(20, 10*math.Ceil(most/10))
	least, most, _ = pen.Extent(phase.Curves)
	phase.Low, phase.High = math.Min(-225, 45*math.Floor(least/45)), math.Max(-90, 45*math.Ceil(most/45))
	axis.Low, axis.High = axis.Low/1.06, axis.High*1.06
	f := pen.Figure{Title: "frequency response, " + p.Title, Width: smallWidth, Axis: axis, Panels: []pen.Panel{gain, phase}}
	p.SVG = f.Draw().HTML()
	return p
}

// bodePoint is a measured loop with the stroke that draws it, and all that are in
// the figure.
type bodePoint struct {
	*runlog.Loop
	stroke pen.Stroke
	all    []runlog.Loop
}

// load is the name of the load.
func (s bodePoint) load() string { return string(s.Load) }

// drawLoop draws the lines that were measured, joined, with the margins.
func (r *reported) drawLoop(s bodePoint, gain, phase *pen.Panel) {
	draw := func(p *pen.Panel, y []float64) {
		p.Curves = append(p.Curves,
			pen.Curve{X: s.Frequency, Y: y, Stroke: s.stroke},
			pen.Curve{X: s.Frequency, Y: y, Stroke: s.stroke, Dots: true})
	}
	draw(gain, s.Gain)
	draw(phase, s.Phase)
	if m := r.margin("gain_margin", s.Loop); s.PhaseCrossover > 0 && m != nil && m.Value != nil {
		s.mark(gain, func(l runlog.Loop) float64 { return l.PhaseCrossover }, 0, -*m.Value, fmt.Sprintf("%.1f dB", *m.Value))
	}
	if m := r.margin("phase_margin", s.Loop); s.Crossover > 0 && m != nil && m.Value != nil {
		s.mark(phase, func(l runlog.Loop) float64 { return l.Crossover }, -180, *m.Value-180, fmt.Sprintf("%.0f°", *m.Value))
	}
}

// mark marks a margin at the frequency that it is read at. The words of all stand
// to the left of the marks in the upper half of the frequencies, else to the
// right, but the first mark's to its left where there is room.
func (s bodePoint) mark(p *pen.Panel, at func(runlog.Loop) float64, from, to float64, text string) {
	x := at(*s.Loop)
	first, last := x, x
	for _, l := range s.all {
		if at(l) > 0 {
			first, last = math.Min(first, at(l)), math.Max(last, at(l))
		}
	}
	low, high := s.Frequency[0], s.Frequency[len(s.Frequency)-1]
	label := pen.Mark{X: last, Y: from, Lift: 8, Label: words.Minus(s.load() + " " + text)}
	if s.stroke == pen.First {
		label.Lift = 19
	}
	if x > math.Sqrt(low*high) || x == first && x > 2*low {
		label.X, label.Left = first, true
	}
	p.Marks = append(p.Marks, pen.Mark{X: x, Y: from, To: &[2]float64{x, to}}, label)
}

// margins are the measures of a point, as notes.
func (r *reported) margins(p bodePoint) (notes []note) {
	phase, gain := r.margin("phase_margin", p.Loop), r.margin("gain_margin", p.Loop)
	for i, m := range []*measure.Measure{phase, gain} {
		if m == nil || m.Value == nil {
			continue
		}
		text := short(*m.Value, m.Unit)
		if i == 0 {
			text = p.load() + ": " + text
		}
		notes = append(notes, note{text, class(m)})
	}
	return notes
}

// marginLimits says what the margins must be.
func (r *reported) marginLimits(point *runlog.Loop) string {
	var limits []string
	for _, name := range []string{"phase_margin", "gain_margin"} {
		if m := r.margin(name, point); m != nil && m.Limit != nil {
			limits = append(limits, words.WithUnit(limit(m), m.Unit))
		}
	}
	return strings.Join(limits, " and ")
}

// margin is a margin of a loop that was measured, or nil.
func (r *reported) margin(what string, of *runlog.Loop) *measure.Measure {
	return r.run.Result.Get(measure.Key{What: what, Setting: of.Setting, Load: of.Load})
}
