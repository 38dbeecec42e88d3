package pen

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

func (m *Mark) draw(c *Canvas, x, y scale) {
	atX, atY := x.at(m.X), y.at(m.Y)
	if m.Ring {
		c.Circle("ring", atX, atY, 2.4)
	}
	if m.To != nil {
		c.barred(atX, atY, x.at(m.To[0]), y.at(m.To[1]))
	}
	if m.Label == "" {
		return
	}
	class, shift, lift, width := "", 5.0, -4.0, textWidth(m.Label, labelSize)
	before := 0.0 // how much of the label stands left of its place
	switch {
	case m.Above:
		class, shift, lift, before = "middle", 0, 5, width/2
	case m.Left:
		class, shift, before = "end", -5, width
	}
	at := max(before, min(c.width-width+before, atX+shift))
	c.Text(class, at, max(labelSize, atY-lift-m.Lift), m.Label)
}

// barred draws a line, upright or level, with a bar at each end.
func (c *Canvas) barred(x0, y0, x1, y1 float64) {
	const half = 3
	across, along := 0.0, 0.0
	if x0 == x1 {
		across = half
	} else {
		along = half
	}
	var t Trail
	t.Move(x0, y0)
	t.To(x1, y1)
	for _, end := range [][2]float64{{x0, y0}, {x1, y1}} {
		t.Move(end[0]-across, end[1]-along)
		t.To(end[0]+across, end[1]+along)
	}
	c.Path("bar", t.Data())
}
