package figure

import (
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
)

// Panel is one of the panels that stand on top of one another.
type Panel struct {
	// Label says what is drawn, with its unit.
	Label string
	// Height is that of the panel, label included, in px.
	Height    float64
	Low, High float64 // of the vertical axis
	// Step is from one tick to the next; 0 finds a fitting one.
	Step float64

	Curves []Curve
	Zones  []Zone
	Rules  []Rule
	Marks  []Mark
}

// Curve is a line through points.
type Curve struct {
	X, Y []float64
	Pen  Pen
	// Dots draws a dot at each point, and no line.
	Dots bool
}

// Zone is ground that a curve must keep off: X from..to, Y from..to, any of
// which may be infinite.
type Zone struct{ X0, X1, Y0, Y1 float64 }

// Rule is a straight line across the panel.
type Rule struct {
	At      float64
	Upright bool
	Pen     Pen
}

// Mark is a point with words beside it, or a line with a bar at each end.
type Mark struct {
	X, Y  float64
	Label string
	Ring  bool // a ring around the point
	Above bool // the label stands above the point, not beside it
	Left  bool // the label stands to the left
	// To is the other end of a line, and Lift how far above X, Y the label then
	// stands, px.
	To   *[2]float64
	Lift float64
}

// Axis is the horizontal axis that the panels share.
type Axis struct {
	Label     string
	Low, High float64
	Log       bool
}

// size of text, and from one label of the horizontal axis to the next, px.
const (
	labelSize = 10.5
	tickSize  = 10
	tickRoom  = 48
)

func sans(style *text.Style, size vg.Length, pen Pen) {
	style.Font = font.Font{Typeface: "Liberation", Variant: "Sans", Size: size}
	style.Color = pen.color()
}

// plot makes a panel ready; the lowest one carries the axis' labels.
func (p *Panel) plot(axis *Axis, width float64, lowest bool) *plot.Plot {
	out := plot.New()
	out.BackgroundColor = nil
	for _, a := range []*plot.Axis{&out.X, &out.Y} {
		sans(&a.Tick.Label, tickSize, ink)
		sans(&a.Label.TextStyle, labelSize, ink)
		a.Padding, a.Label.Padding = 0, 3
		a.LineStyle = pale.line()
		a.Tick.LineStyle = pale.line()
		a.Tick.Length = 3
	}
	out.X.Min, out.X.Max = axis.Low, axis.High
	out.Y.Min, out.Y.Max = p.Low, p.High
	out.X.Tick.Marker = linear(math.Max(3, width/tickRoom), lowest)
	if axis.Log {
		out.X.Scale = plot.LogScale{}
		out.X.Tick.Marker = logarithmic(lowest)
	}
	if lowest {
		out.X.Label.Text = axis.Label
	}
	out.Y.Tick.Marker = linear(math.Max(2, p.Height/25), true)
	if p.Step > 0 {
		out.Y.Tick.Marker = fixed(p.Step)
	}
	out.Add(ground{p})
	for i := range p.Curves {
		out.Add(curve{&p.Curves[i]})
	}
	for i := range p.Rules {
		out.Add(rule{&p.Rules[i]})
	}
	for i := range p.Marks {
		out.Add(mark{&p.Marks[i]})
	}
	return out
}
