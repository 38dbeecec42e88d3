package pulse

import (
	"math"

	"gonum.org/v1/gonum/stat"
)

// Line is a straight line y = Offset + Slope·x over the range of x in which
// one line of pulses follows another.
type Line struct {
	Offset, Slope float64
	// From and To are the first and the last x that lie on it.
	From, To float64
}

// At is the line's value at x.
func (l Line) At(x float64) float64 { return l.Offset + l.Slope*x }

// X is where the line has the value y.
func (l Line) X(y float64) float64 { return (y - l.Offset) / l.Slope }

const (
	fewestPoints = 6   // that make a line
	leastSlope   = 0.2 // that counts as following
)

// Follow finds the longest stretch of points, x in order, in which y follows x
// along a straight line, each point within tolerance of it. Tolerances are
// tried in turn until there is such a stretch.
func Follow(x, y []float64, tolerances ...float64) (longest Line, ok bool) {
	for _, tolerance := range tolerances {
		points := 0
		for from := range x {
			for to := from + max(fewestPoints, points+1); to <= len(x); to++ {
				line := fit(x[from:to], y[from:to])
				if math.Abs(line.Slope) > leastSlope && line.holds(x[from:to], y[from:to], tolerance) {
					longest, points = line, to-from
				}
			}
		}
		if points > 0 {
			return longest, true
		}
	}
	return Line{}, false
}

func fit(x, y []float64) Line {
	offset, slope := stat.LinearRegression(x, y, nil, false)
	return Line{Offset: offset, Slope: slope, From: x[0], To: x[len(x)-1]}
}

func (l Line) holds(x, y []float64, tolerance float64) bool {
	for i := range x {
		if math.Abs(y[i]-l.At(x[i])) > tolerance {
			return false
		}
	}
	return true
}
