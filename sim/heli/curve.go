package heli

import "math"

// curve is a smooth function over 0 to 1 through evenly spaced values: cubic
// pieces with the slopes of Fritsch and Butland (SIAM J. Sci. Stat. Comput.
// 5(2), 1984), which never overshoot the values and keep the slope continuous.
type curve struct {
	pieces []piece // read only, shared by copies
	last   float64
}

// piece is a polynomial in the distance from its left value, in pieces.
type piece [4]float64

func newCurve(y []float64) curve {
	slopes := make([]float64, len(y))
	for i := range y {
		slopes[i] = slopeAt(y, i)
	}
	c := curve{pieces: make([]piece, len(y)-1), last: float64(len(y) - 2)}
	for i := range c.pieces {
		rise, a, b := y[i+1]-y[i], slopes[i], slopes[i+1]
		c.pieces[i] = piece{y[i], a, 3*rise - 2*a - b, a + b - 2*rise}
	}
	return c
}

// slopeAt is the harmonic mean of the slopes on both sides, zero at a peak and
// at most the side's own at an end.
func slopeAt(y []float64, i int) float64 {
	switch i {
	case 0:
		return y[1] - y[0]
	case len(y) - 1:
		return y[i] - y[i-1]
	}
	left, right := y[i]-y[i-1], y[i+1]-y[i]
	if left*right <= 0 {
		return 0
	}
	return 2 * left * right / (left + right)
}

// at is the value at x, 0 to 1.
func (c *curve) at(x float64) float64 {
	i, t := c.place(x)
	p := &c.pieces[i]
	return p[0] + t*(p[1]+t*(p[2]+t*p[3]))
}

// slope is dy/dx at x.
func (c *curve) slope(x float64) float64 {
	i, t := c.place(x)
	p := &c.pieces[i]
	return (p[1] + t*(2*p[2]+t*3*p[3])) * (c.last + 1)
}

func (c *curve) place(x float64) (int, float64) {
	at := x * (c.last + 1)
	i := min(at, c.last)
	return int(i), at - float64(int(i))
}

// closed is the end, 0 or 1, with the lesser value.
func (c *curve) closed() float64 {
	if c.at(1) < c.at(0) {
		return 1
	}
	return 0
}

// find gives the x, counted from the closed end, where the curve first reaches
// y; ok is false if it stays below.
func (c *curve) find(y float64) (x float64, ok bool) {
	n := len(c.pieces)
	end := c.closed()
	share := func(i int) float64 { return math.Abs(end - float64(i)/float64(n)) }
	for i := range n {
		if near, far := share(i), share(i+1); c.at(near) <= y && y <= c.at(far) {
			return c.bisect(near, far, y), true
		}
	}
	return 0, false
}

// bisect finds y between a, where the curve is at most y, and b.
func (c *curve) bisect(a, b, y float64) float64 {
	for range 60 {
		mid := (a + b) / 2
		if c.at(mid) <= y {
			a = mid
		} else {
			b = mid
		}
	}
	return a
}
