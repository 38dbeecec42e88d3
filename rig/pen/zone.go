package pen

import (
	"math"

	"govrig/sim/words"
)

// Zone is ground that a curve must keep off: X from..to, Y from..to, any of
// which may be infinite.
type Zone struct{ X0, X1, Y0, Y1 float64 }

// Reach widens the range of a panel so far that the inner edges of the zone
// show.
func (z Zone) Reach(low, high float64) (float64, float64) {
	for _, edge := range z.edges() {
		low, high = math.Min(low, edge), math.Max(high, edge)
	}
	return low, high
}

// edges are the lower and the upper one, as far as there are any.
func (z Zone) edges() (all []float64) {
	for _, edge := range []float64{z.Y0, z.Y1} {
		if !math.IsInf(edge, 0) {
			all = append(all, edge)
		}
	}
	return all
}

// limits are the edges of the panel's zones, in words, each once.
func (p *Panel) limits() (all []string) {
	said := map[float64]bool{}
	for _, z := range p.Zones {
		for _, edge := range z.edges() {
			if !said[edge] {
				said[edge] = true
				all = append(all, words.Number(edge))
			}
		}
	}
	return all
}

// draw draws the lower and the upper edge of the zone, where they lie inside the
// panel, with short strokes on the side to keep off, as ground is drawn.
func (z Zone) draw(c *Canvas, x, y scale) {
	x0, x1 := x.at(x.keep(z.X0)), x.at(x.keep(z.X1))
	y0, y1 := y.at(y.keep(z.Y0)), y.at(y.keep(z.Y1))
	if x0 >= x1 || y0 <= y1 {
		return
	}
	if y0 < y.from-0.1 {
		c.edge(x0, x1, y0, y1)
	}
	if y1 > y.to+0.1 {
		c.edge(x0, x1, y1, y0)
	}
}
