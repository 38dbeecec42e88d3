package pen

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
	X, Y   []float64
	Stroke Stroke
	// Dots draws a dot at each point, and no line.
	Dots bool
}

// Rule is a straight line across the panel.
type Rule struct {
	At      float64
	Upright bool
	Stroke  Stroke
}

// upright is the vertical axis of a panel whose top is at y.
func (p *Panel) upright(y float64) scale {
	return scale{low: p.Low, high: p.High, from: y + p.Height, to: y + labelRoom}
}

func (p *Panel) ticks() []tick { return p.upright(0).ticks(p.Step, upRoom) }

// draw draws the panel between its axes; across are the ticks of the horizontal
// one.
func (p *Panel) draw(c *Canvas, x, y scale, across []tick) {
	p.ground(c, x, y, across)
	width, height := x.to-x.from, y.from-y.to
	c.within(x.from, y.to, width, height, func() {
		x, y := x, y
		x.from, x.to, y.from, y.to = 0, width, height, 0
		for _, z := range p.Zones {
			z.draw(c, x, y)
		}
		for _, r := range p.Rules {
			r.draw(c, x, y)
		}
		for _, k := range p.Curves {
			if !k.Dots {
				k.line(c, x, y)
			}
		}
	})
	for _, k := range p.Curves {
		if k.Dots {
			k.dots(c, x, y)
		}
	}
	for i := range p.Marks {
		p.Marks[i].draw(c, x, y)
	}
	c.Text("", x.from, y.to-4, p.Label)
}

// ground draws the grid and the axes, with ticks and labels on the vertical one.
func (p *Panel) ground(c *Canvas, x, y scale, across []tick) {
	var grid, axes Trail
	for _, t := range y.ticks(p.Step, upRoom) {
		at := y.at(t.value)
		grid.Move(x.from, at)
		grid.To(x.to, at)
		axes.Move(x.from-tickLength, at)
		axes.To(x.from, at)
		c.Text("tick end", x.from-tickLength-2, at+3.5, t.label)
	}
	for _, t := range across {
		grid.Move(x.at(t.value), y.from)
		grid.To(x.at(t.value), y.to)
	}
	axes.Move(x.from, y.to)
	axes.To(x.from, y.from)
	axes.To(x.to, y.from)
	c.Path("grid", grid.Data())
	c.Path("axis", axes.Data())
}

func (k *Curve) line(c *Canvas, x, y scale) {
	var t Trail
	for i := range k.X {
		t.To(x.at(k.X[i]), y.at(k.Y[i]))
	}
	c.Path(string(k.Stroke), t.Data())
}

// dots are round on the first stroke, square on the others.
func (k *Curve) dots(c *Canvas, x, y scale) {
	const radius = 2.2
	for i := range k.X {
		atX, atY := x.at(k.X[i]), y.at(k.Y[i])
		if k.Stroke == First {
			c.Circle("dot first", atX, atY, radius)
		} else {
			c.Rect("dot "+string(k.Stroke), atX-radius, atY-radius, 2*radius, 2*radius)
		}
	}
}

func (r Rule) draw(c *Canvas, x, y scale) {
	if r.Upright {
		c.Line(string(r.Stroke), x.at(r.At), y.from, x.at(r.At), y.to)
		return
	}
	c.Line(string(r.Stroke), x.from, y.at(r.At), x.to, y.at(r.At))
}
