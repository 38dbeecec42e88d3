package figure

import (
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// ground draws what lies behind the curves: grid, zones and the label.
type ground struct{ p *Panel }

func (g ground) Plot(c draw.Canvas, p *plot.Plot) {
	x, y := p.Transforms(&c)
	for _, tick := range p.Y.Tick.Marker.Ticks(p.Y.Min, p.Y.Max) {
		c.StrokeLine2(grid.line(), c.Min.X, y(tick.Value), c.Max.X, y(tick.Value))
	}
	for _, tick := range p.X.Tick.Marker.Ticks(p.X.Min, p.X.Max) {
		c.StrokeLine2(grid.line(), x(tick.Value), c.Min.Y, x(tick.Value), c.Max.Y)
	}
	for _, z := range g.p.Zones {
		z.within(p).draw(&c, x, y)
	}
	style := words(ink)
	style.YAlign = text.YBottom
	c.FillText(style, vg.Point{X: c.Min.X, Y: c.Max.Y + 3}, g.p.Label)
}

// within is the part of the zone that the panel shows.
func (z Zone) within(p *plot.Plot) Zone {
	return Zone{
		X0: math.Max(z.X0, p.X.Min), X1: math.Min(z.X1, p.X.Max),
		Y0: math.Max(z.Y0, p.Y.Min), Y1: math.Min(z.Y1, p.Y.Max),
	}
}

// hatch is the distance of the strokes behind an edge, depth how far they reach.
const hatch, depth = 5, 5

// draw draws the lower and the upper edge of the zone, where they lie inside the
// panel, with short strokes on the side to keep off, as ground is drawn.
func (z Zone) draw(c *draw.Canvas, x, y func(float64) vg.Length) {
	if z.X0 >= z.X1 || z.Y0 >= z.Y1 {
		return
	}
	x0, x1, y0, y1 := x(z.X0), x(z.X1), y(z.Y0), y(z.Y1)
	var strokes vg.Path
	edge := func(y, dy vg.Length) {
		c.StrokeLine2(Limit.line(), x0, y, x1, y)
		for at := x0 + depth; at <= x1; at += hatch {
			strokes.Move(vg.Point{X: at, Y: y})
			strokes.Line(vg.Point{X: at - depth, Y: max(y0, min(y1, y+dy))})
		}
	}
	if y0 > c.Min.Y+0.1 {
		edge(y0, depth)
	}
	if y1 < c.Max.Y-0.1 {
		edge(y1, -depth)
	}
	line := Limit.line()
	line.Width = 0.5
	c.SetLineStyle(line)
	c.Stroke(strokes)
}

// words is a style for text inside a panel.
func words(pen Pen) text.Style {
	style := text.Style{Handler: plot.DefaultTextHandler}
	sans(&style, labelSize, pen)
	return style
}

type curve struct{ c *Curve }

func (k curve) Plot(c draw.Canvas, p *plot.Plot) {
	x, y := p.Transforms(&c)
	points := make([]vg.Point, len(k.c.X))
	for i := range points {
		points[i] = vg.Point{X: x(k.c.X[i]), Y: y(k.c.Y[i])}
	}
	if !k.c.Dots {
		c.StrokeLines(k.c.Pen.line(), c.ClipLinesXY(points)...)
		return
	}
	shape := draw.GlyphDrawer(draw.CircleGlyph{})
	if k.c.Pen != First {
		shape = draw.BoxGlyph{}
	}
	for _, at := range points {
		c.DrawGlyph(draw.GlyphStyle{Color: k.c.Pen.color(), Radius: 2.2, Shape: shape}, at)
	}
}

type rule struct{ r *Rule }

func (k rule) Plot(c draw.Canvas, p *plot.Plot) {
	x, y := p.Transforms(&c)
	if k.r.Upright {
		c.StrokeLine2(k.r.Pen.line(), x(k.r.At), c.Min.Y, x(k.r.At), c.Max.Y)
		return
	}
	c.StrokeLine2(k.r.Pen.line(), c.Min.X, y(k.r.At), c.Max.X, y(k.r.At))
}

type mark struct{ m *Mark }

func (k mark) Plot(c draw.Canvas, p *plot.Plot) {
	x, y := p.Transforms(&c)
	at := vg.Point{X: x(k.m.X), Y: y(k.m.Y)}
	if k.m.Ring {
		c.DrawGlyph(draw.GlyphStyle{Color: ink.color(), Radius: 2.4, Shape: draw.RingGlyph{}}, at)
	}
	if k.m.To != nil {
		barred(&c, at, vg.Point{X: x(k.m.To[0]), Y: y(k.m.To[1])})
	}
	style := words(ink)
	style.YAlign = text.YCenter
	switch {
	case k.m.Above:
		style.XAlign, style.YAlign, at.Y = text.XCenter, text.YBottom, at.Y+4
	case k.m.Left:
		style.XAlign, at.X = text.XRight, at.X-5
	default:
		at.X += 5
	}
	at.Y += vg.Length(k.m.Lift)
	c.FillText(style, at, k.m.Label)
}

// barred draws a line, upright or level, with a bar at each end.
func barred(c *draw.Canvas, from, to vg.Point) {
	line := ink.line()
	line.Width = 1.1
	c.StrokeLine2(line, from.X, from.Y, to.X, to.Y)
	for _, end := range []vg.Point{from, to} {
		if from.X == to.X {
			c.StrokeLine2(line, end.X-3, end.Y, end.X+3, end.Y)
		} else {
			c.StrokeLine2(line, end.X, end.Y-3, end.X, end.Y+3)
		}
	}
}
