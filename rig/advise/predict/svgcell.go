package predict

import (
	"fmt"

	"govrig/rig/pen"
)

// heat is a drawing of heat maps.
type heat struct{ *pen.Canvas }

// shadesOf the quarters of the good cells, the best first, and of what is
// written on them.
var shadesOf = [4]struct{ cell, text string }{
	{"cell best", "in middle on"}, {"cell good", "in middle on"}, {"cell fair", "in middle"}, {"cell last", "in middle"},
}

// cell draws one cell with its number or its outcome.
func (m *heat) cell(x, y float64, c *Cell, of shown, q quarters) {
	v, ok := of(c)
	class, text, said := "cell", "in middle", string(c.Outcome)
	switch {
	case ok && c.Good():
		class, text = shadesOf[q.of(v)].cell, shadesOf[q.of(v)].text
	case c.Outcome == NotBack || c.Outcome == Stalls:
		class = "cell late"
	case c.Outcome == Holds:
		text = "in middle faint"
	}
	if ok {
		said = fmt.Sprintf("%.2f", v)
	}
	m.Rect(class, x, y, cellW, cellH)
	if c.Outcome == Hunts {
		m.stripes(x, y)
		m.Rect("paper", x+6, y+7, cellW-12, cellH-14)
	}
	m.Text(text, x+cellW/2, y+cellH/2+4, said)
}

// stripes hatches a cell from corner to corner.
func (m *heat) stripes(x, y float64) {
	const apart, inside = 10.0, 1.0
	w, h := cellW-2*inside, cellH-2*inside
	var t pen.Trail
	for at := apart / 2; at < w+h; at += apart {
		right, left := min(at, w), max(at-h, 0)
		t.Move(x+inside+right, y+inside+at-right)
		t.To(x+inside+left, y+inside+at-left)
	}
	m.Path("hunts", t.Data())
}

// frame frames a cell, with a light line inside, so that it shows on any shade.
func (m *heat) frame(class string, x, y float64) {
	const inside = 2.2
	m.Rect("framed", x+inside, y+inside, cellW-2*inside, cellH-2*inside)
	m.Rect(class, x, y, cellW, cellH)
}

// legend explains the marks: the quarters in a row of their own, the others in
// two columns.
func (m *heat) legend(y float64) {
	q := quarters{0.1, 0.3, 0.5, 0.9}
	shows := func(v float64) shown {
		return func(c *Cell) (float64, bool) { return v, c.Outcome == Holds }
	}
	entry := func(x, y float64, words, frame string, c Cell) {
		m.cell(x, y, &c, shows(q[0]), q)
		if frame != "" {
			m.frame(frame, x, y)
		}
		m.Text("in", x+cellW+10, y+cellH/2+4, words)
	}
	for i, v := range q {
		m.cell(margin+cellW*float64(i), y, &Cell{Outcome: Holds}, shows(v), q)
	}
	m.Text("in", margin+4*cellW+10, y+cellH/2+4, "meet limits and margins: from the best quarter of them to the last")
	const column, row = 360, cellH + 3
	entry(margin, y+row, "best", "frame", Cell{Outcome: Holds})
	entry(margin, y+2*row, "as in the machine file", "frame dashed", Cell{Outcome: Holds})
	entry(margin+column, y+row, "comes back, but misses a limit or a margin", "", Cell{Outcome: Holds, Misses: []string{""}})
	entry(margin+column, y+2*row, "keeps swinging", "", Cell{Outcome: Hunts})
	entry(margin+column, y+3*row, "not back in time", "", Cell{Outcome: NotBack})
}
