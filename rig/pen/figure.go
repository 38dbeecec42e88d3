package pen

import (
	"fmt"
	"slices"
	"strings"

	"govrig/sim/words"
)

// Figure is a chart of panels over one horizontal axis, the first on top.
type Figure struct {
	// Title says what the figure shows, for those who cannot see it.
	Title string
	// Heading and Keys are drawn above the panels, for a figure without a page
	// around it that has them.
	Heading string
	Keys    []Key
	// Width in px at the size at which it reads best.
	Width  float64
	Axis   Axis
	Panels []Panel
}

// Key says what a line means.
type Key struct {
	Stroke Stroke
	Words  string
}

// Axis is the horizontal axis that the panels share.
type Axis struct {
	// Label says what it is, with its unit.
	Label     string
	Low, High float64
	// Step is from one tick to the next; 0 finds a fitting one.
	Step float64
	Log  bool
}

// Room around and between panels, and sizes of text as in look.css, px.
const (
	labelRoom   = 16 // above a panel
	axisRoom    = 29 // below the lowest
	edgeRoom    = 6  // left and right
	tickLength  = 3
	headingRoom = 22
	keyRoom     = 15.0
	acrossRoom  = 36 // from one tick to the next
	upRoom      = 21
	tickSize    = 10.0
	labelSize   = 10.5
	headingSize = 14.0 // bold, a tenth wider
)

// Draw draws the figure.
func (f *Figure) Draw() *Canvas {
	top := keyRoom * float64(len(f.Keys))
	if f.Heading != "" {
		top += headingRoom
	}
	height := top + axisRoom
	for _, p := range f.Panels {
		height += p.Height
	}
	c := New(f.Width, height, f.Title, f.about())
	f.head(c)
	x := f.across()
	for i := range f.Panels {
		p := &f.Panels[i]
		p.draw(c, x, p.upright(top), x.ticks(f.Axis.Step, acrossRoom))
		top += p.Height
	}
	f.foot(c, x, top)
	return c
}

// head writes heading and keys.
func (f *Figure) head(c *Canvas) {
	y := 0.0
	if f.Heading != "" {
		c.Heading(edgeRoom, 15, f.Heading)
		y = headingRoom
	}
	for _, k := range f.Keys {
		c.Line(string(k.Stroke), edgeRoom, y+keyRoom/2, edgeRoom+swatchWidth, y+keyRoom/2)
		c.Text("", edgeRoom+swatchWidth+6, y+keyRoom/2+4, k.Words)
		y += keyRoom
	}
}

// across is the horizontal axis, with room for the widest labels beside it.
func (f *Figure) across() scale {
	s := scale{low: f.Axis.Low, high: f.Axis.High, from: edgeRoom, to: f.Width - edgeRoom, log: f.Axis.Log}
	half := widest(s.ticks(f.Axis.Step, acrossRoom)) / 2
	left := 0.0
	for i := range f.Panels {
		left = max(left, widest(f.Panels[i].ticks()))
	}
	s.from, s.to = max(left+tickLength+4, half), f.Width-max(edgeRoom, half)
	return s
}

func widest(ticks []tick) (width float64) {
	for _, t := range ticks {
		width = max(width, textWidth(t.label, tickSize))
	}
	return width
}

// foot writes the labels of the horizontal axis below y.
func (f *Figure) foot(c *Canvas, x scale, y float64) {
	for _, t := range x.ticks(f.Axis.Step, acrossRoom) {
		c.Line("axis", x.at(t.value), y, x.at(t.value), y+tickLength)
		if t.label != "" {
			c.Text("tick middle", x.at(t.value), y+12, t.label)
		}
	}
	c.Text("middle", (x.from+x.to)/2, y+axisRoom-4, f.Axis.Label)
}

// about tells in a few words what the figure shows, for those who cannot see it.
func (f *Figure) about() string {
	var b strings.Builder
	for i := range f.Panels {
		p := &f.Panels[i]
		b.WriteString(p.Label)
		if low, high, ok := Extent(p.Curves); ok {
			fmt.Fprintf(&b, ": from %s to %s", words.Short(low), words.Short(high))
		}
		if limits := p.limits(); len(limits) > 0 {
			b.WriteString(", limits at " + strings.Join(limits, ", "))
		}
		b.WriteString(". ")
	}
	fmt.Fprintf(&b, "Across: %s, from %s to %s.", f.Axis.Label, words.Short(f.Axis.Low), words.Short(f.Axis.High))
	return words.Minus(b.String())
}

// Extent is the least and the greatest value of curves; ok is false where there
// is none, and they are 0 and 1.
func Extent(curves []Curve) (least, most float64, ok bool) {
	least, most = 0, 1
	for _, c := range curves {
		if len(c.Y) == 0 {
			continue
		}
		low, high := slices.Min(c.Y), slices.Max(c.Y)
		if !ok {
			least, most, ok = low, high, true
		}
		least, most = min(least, low), max(most, high)
	}
	return least, most, ok
}
