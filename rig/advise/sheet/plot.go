package sheet

import (
	"html/template"
	"io"

	"govrig/rig/pen"
)

// The drawing, px of its own, and how many times larger its file is.
const (
	plotWidth, panelHeight = 480, 200
	plotScale              = 1.4
)

// WriteSVG draws the carburettor arm's angle and the open area over the
// servo's travel, one above the other: as built, and with the square rod. The
// error is that of the writer.
func (s *Sheet) WriteSVG(w io.Writer) error { return s.figure().WriteSVG(w, plotScale) }

// HTML is the same drawing as a part of a page.
func (s *Sheet) HTML() template.HTML { return s.figure().HTML() }

func (s *Sheet) figure() *pen.Canvas {
	angle := s.panel("carburettor arm, degrees", func(p Spot) float64 { return p.CarbDeg })
	least, most, _ := pen.Extent(angle.Curves)
	angle.Low, angle.High = least-1, most+1
	area := s.panel("open area, %", func(p Spot) float64 { return p.AreaPct })
	area.Low, area.High = -1, 101
	f := pen.Figure{
		Title: "Throttle linkage: " + s.Machine, Heading: "Throttle linkage: " + s.Machine,
		Keys:  []pen.Key{{Stroke: pen.First, Words: "as built"}},
		Width: plotWidth, Panels: []pen.Panel{angle, area},
		Axis: pen.Axis{Label: "servo travel, %   (−100 closed end, +100 open end)", Low: -100, High: 100, Step: 25},
	}
	if s.Throttle.Square != nil {
		f.Keys = append(f.Keys, pen.Key{Stroke: pen.Second, Words: "with the square rod, barrel fully open at the open end"})
	}
	return f.Draw()
}

// panel draws a value of both courses.
func (s *Sheet) panel(label string, value func(Spot) float64) pen.Panel {
	p := pen.Panel{Label: label, Height: panelHeight}
	add := func(course *Course, stroke pen.Stroke) {
		c := pen.Curve{Stroke: stroke}
		for _, spot := range course.Points {
			c.X, c.Y = append(c.X, spot.TravelPercent), append(c.Y, value(spot))
		}
		p.Curves = append(p.Curves, c)
	}
	add(s.Throttle.AsBuilt, pen.First)
	if s.Throttle.Square != nil {
		add(s.Throttle.Square, pen.Second)
	}
	return p
}
