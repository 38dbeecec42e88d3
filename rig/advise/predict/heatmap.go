package predict

import (
	"fmt"
	"slices"
	"strings"

	"govrig/sim/words"
)

// shown is a measure of a cell in a heat map; ok is false without one.
type shown func(c *Cell) (value float64, ok bool)

func recovery(c *Cell) (float64, bool) {
	if c.Recovery == nil {
		return 0, false
	}
	return *c.Recovery, true
}

func dip(c *Cell) (float64, bool) {
	if c.Deviation == nil || c.Outcome != Holds {
		return 0, false
	}
	return -*c.Deviation, true
}

// shades from the best quarter of the good cells to the worst. They differ in
// how much ink they hold, not in colour.
var shades = [4]rune{'█', '▓', '▒', '░'}

// quarters tells into which quarter of the good cells a value falls, 0 the
// least.
type quarters []float64

func newQuarters(cells []Cell, of shown) quarters {
	var q quarters
	for i := range cells {
		if v, ok := of(&cells[i]); ok && cells[i].Good() {
			q = append(q, v)
		}
	}
	slices.Sort(q)
	return q
}

func (q quarters) of(v float64) int {
	at, _ := slices.BinarySearch(q, v)
	return min(3, 4*at/max(1, len(q)))
}

// Widths of a cell: with its number, and without where that is too wide.
const (
	labelWidth  = 11
	cellWidth   = 6
	narrowWidth = 2
)

func (p *Prediction) wide() bool { return labelWidth+cellWidth*len(p.Gains) <= words.Columns }

// heatMap writes the grid of one measure, gains across and integral times down.
func (p *Prediction) heatMap(t *page, c *Case, title string, of shown) {
	t.line("\n%s", title)
	t.line("  time, s   gain, %% of throttle travel per 1000 rpm of the engine")
	t.line("%s", p.header())
	q := newQuarters(c.Cells, of)
	for row, time := range p.Times {
		var b strings.Builder
		for col := range p.Gains {
			i := row*len(p.Gains) + col
			b.WriteString(p.cellText(c, i, q, of))
		}
		t.line("%*.3g  %s", labelWidth-2, time, b.String())
	}
}

// header names the columns; narrow ones, every fourth.
func (p *Prediction) header() string {
	b := strings.Repeat(" ", labelWidth)
	for i, gain := range p.Gains {
		switch {
		case p.wide():
			b += fmt.Sprintf("%*s", cellWidth, fmt.Sprintf("%.3g ", gain))
		case i%4 == 0:
			b += fmt.Sprintf("%-*.3g", 4*narrowWidth, gain)
		}
	}
	return b
}

func (p *Prediction) cellText(c *Case, i int, q quarters, of shown) string {
	cell := &c.Cells[i]
	v, ok := of(cell)
	left, right := " ", " "
	switch {
	case i == c.Best:
		left, right = "[", "]"
	case i == c.Own:
		left, right = "(", ")"
	case ok && cell.Good():
		left = string(shades[q.of(v)])
		right = left
	}
	if p.wide() {
		return left + middle(cell, v, ok) + right
	}
	if left == " " {
		return marks[cell.Outcome][:narrowWidth]
	}
	return left + right
}

// marks stand in a cell for its outcome when there is no number, or no room
// for one.
var marks = map[Outcome]string{Holds: "....", NotBack: "----", Hunts: "~~~~", Stalls: "xxxx"}

// middle is what stands between the marks of a wide cell, four columns.
func middle(c *Cell, v float64, ok bool) string {
	switch {
	case !ok:
		return marks[c.Outcome]
	case v < 9.995:
		return fmt.Sprintf("%4.2f", v)
	}
	return fmt.Sprintf("%4.1f", v)
}

// legend explains the marks.
func (p *Prediction) legend(t *page) {
	example, plain := "▓0.31▓", " 0.31 "
	if !p.wide() {
		example, plain = "▓▓", ".."
	}
	t.line("\nIN THE GRIDS")
	t.item("  "+example+"  ", fmt.Sprintf("meets the limits of the speed setting and keeps the margins, gain %g and phase %g°; the darker the better, a quarter of them each: █ ▓ ▒ ░", leastGainMargin, leastPhaseMargin))
	t.item("  "+plain+"  ", fmt.Sprintf("comes back, into ±%g %%, but misses a limit or a margin; recovery 0 never left ±%[1]g %%", tolerance/2))
	t.line("  ~~ hunts   -- not back, or still drifting   xx engine stalls   [ ] best   ( ) machine file")
}
