package engage

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"govrig/rig/measure"
)

const (
	parts    = 24 // means of parts, into which a window about a step is taken
	unknowns = 4  // level, slope, step and change of slope
)

// ToStep looks for the answer to a step of the played speed, of a size with its
// sign, at a moment in the middle of a window of the throttle, whose own step
// is told where it is known: a level and a
// slope that change there, against a straight line all through. Scatter that
// hangs together from part to part counts for fewer parts, by its correlation
// ρ as (1−ρ)/(1+ρ) of them (Bartlett, from memory). An answer of less than two
// of the throttle's own steps is none that can be told from a drift.
func ToStep(throttle measure.Series, event, size, step float64) Answer {
	if err := throttle.Validate(); err != nil {
		return untold("%v", err)
	}
	before, after := throttle.Between(math.Inf(-1), event), throttle.Between(event, math.Inf(1))
	if size == 0 || before.Len() < parts || after.Len() < parts {
		return untold("no step, or too few samples on either side of it")
	}
	x, y := means(before, after, event)
	line, _, ok := leastSquares(x, y, event, 2)
	both, rest, ok2 := leastSquares(x, y, event, unknowns)
	if !ok || !ok2 {
		return untold("the parts do not tell a step from a slope")
	}
	scatter := line.left
	explained := scatter - both.left
	free := float64(parts-unknowns) * independent(rest)
	if free < 2 {
		return untold("the throttle wanders too slowly to tell an answer from it")
	}
	f := explained / 2 / (both.left / free) * free / float64(parts-unknowns)
	a := Answer{Chance: tail(f, free)}
	if !(explained > 0) || math.IsNaN(a.Chance) {
		a.Chance = 1
	}
	// The answer over the part after the step: half of the slope's way, and
	// the step.
	moved := both.x[2] + both.x[3]*(x[parts-1]-event)/2
	a.Gain = math.Abs(moved / size)
	if f > 0 {
		a.Least = math.Max(a.Gain*math.Sqrt(critical(free)/f), 2*step/math.Abs(size))
	}
	if math.Abs(moved) < 2*step {
		a.Chance = 1
	}
	a.judge(moved*size < 0)
	return a
}

// means are those of parts of equal count, half of them on either side.
func means(before, after measure.Series, event float64) (x, y []float64) {
	for _, s := range []measure.Series{before, after} {
		n := s.Len()
		for p := range parts / 2 {
			part := measure.Series{T: s.T[2*p*n/parts : 2*(p+1)*n/parts], Y: s.Y[2*p*n/parts : 2*(p+1)*n/parts]}
			x = append(x, measure.Series{Y: part.T}.Mean())
			y = append(y, part.Mean())
		}
	}
	return x, y
}

type fit struct {
	x    []float64
	left float64 // sum of squares
}

// leastSquares fits the first so many of level, slope, step and change of slope.
func leastSquares(x, y []float64, event float64, columns int) (f fit, rest []float64, ok bool) {
	a, v := mat.NewDense(parts, columns, nil), mat.NewVecDense(parts, nil)
	for i := range parts {
		since := math.Max(0, x[i]-event)
		step := 0.0
		if x[i] >= event {
			step = 1
		}
		a.SetRow(i, []float64{1, x[i] - event, step, since}[:columns])
		v.SetVec(i, y[i]-y[0])
	}
	var solved, made mat.VecDense
	if solved.SolveVec(a, v) != nil {
		return f, nil, false
	}
	made.MulVec(a, &solved)
	for i := range parts {
		r := v.AtVec(i) - made.AtVec(i)
		f.left += r * r
		rest = append(rest, r)
	}
	f.x = append([]float64{}, solved.RawVector().Data...)
	return f, rest, true
}

// independent is the share of the parts that count, by the correlation of what
// is left from part to part. A fit takes some of it away, and
// more than that is given back.
func independent(rest []float64) float64 {
	var own, next float64
	for i, r := range rest {
		own += r * r
		if i > 0 {
			next += r * rest[i-1]
		}
	}
	if own == 0 {
		return 1
	}
	rho := math.Max(0, next/own+float64(unknowns+2)/parts)
	return math.Max(0, (1-rho)/(1+rho))
}
