package pen

import "math"

// Thinner takes in samples of a curve one by one and keeps what a drawing of so
// many columns can show: of each column the first, the least, the greatest and
// the last. Drawn, that is the same picture, and no dip is lost. (Jugel et al.,
// M4: a visualization-oriented time series data aggregation, 2014, from
// memory.) It takes the same room however many samples come.
type Thinner struct {
	from, width float64
	columns     []column
}

// column keeps its points in the order in which they came.
type column struct {
	n                        int
	first, least, most, last point
}

type point struct {
	x, y float64
	n    int // how many came before
}

// NewThinner makes one for x in from..to.
func NewThinner(from, to float64, columns int) *Thinner {
	return &Thinner{from: from, width: (to - from) / float64(columns), columns: make([]column, columns)}
}

// Add takes in a sample; x must not decrease. One outside the range, or a y
// that is no number, is left out.
func (t *Thinner) Add(x, y float64) {
	i := int(math.Floor((x - t.from) / t.width))
	if i == len(t.columns) && x <= t.from+t.width*float64(len(t.columns))*(1+1e-12) {
		i--
	}
	if i < 0 || i >= len(t.columns) || math.IsNaN(y) {
		return
	}
	c := &t.columns[i]
	p := point{x, y, c.n}
	if c.n == 0 {
		c.first, c.least, c.most = p, p, p
	}
	if y < c.least.y {
		c.least = p
	}
	if y > c.most.y {
		c.most = p
	}
	c.last = p
	c.n++
}

// Kept gives the samples that were kept.
func (t *Thinner) Kept() (x, y []float64) {
	for i := range t.columns {
		c := &t.columns[i]
		if c.n == 0 {
			continue
		}
		low, high := c.least, c.most
		if low.n > high.n {
			low, high = high, low
		}
		before := -1
		for _, p := range [...]point{c.first, low, high, c.last} {
			if p.n > before {
				x, y, before = append(x, p.x), append(y, p.y), p.n
			}
		}
	}
	return x, y
}

// Curve is Kept without the samples that lie on a level line between their
// neighbours.
func (t *Thinner) Curve() (x, y []float64) {
	keptX, keptY := t.Kept()
	for i := range keptX {
		if n := len(y); n >= 2 && y[n-1] == keptY[i] && y[n-2] == keptY[i] {
			x[n-1] = keptX[i]
			continue
		}
		x, y = append(x, keptX[i]), append(y, keptY[i])
	}
	return x, y
}
