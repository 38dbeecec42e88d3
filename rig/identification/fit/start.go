package fit

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/mat"
)

const (
	mostDeadTime = 0.15 // s, the longest that is tried
	again        = 4    // times that the equation error is weighted anew
)

// start finds first values of an order: for each dead time of a grid the rational
// function (b0 + b1·s + b2·s²)/(s·(1 + a·s)) by linear least squares, the best of
// them all. ok is false where the best is no law of that order.
func start(sets []Set, o Order) (law Law, ok bool) {
	highest := 0.0
	for _, s := range sets {
		for _, l := range s.Lines {
			highest = math.Max(highest, l.Omega)
		}
	}
	step := 2 * math.Pi / (40 * highest)
	least := math.Inf(1)
	for delay := step; delay < mostDeadTime; delay += step {
		l, made := levy(sets, o, delay)
		if !made {
			continue
		}
		if c := cost(sets, &l); c < least {
			law, least, ok = l, c, true
		}
	}
	return law, ok
}

// unknowns of the rational function, in columns.
const (
	b0, b1, b2, a1 = 0, 1, 2, 3
)

// columns are the unknowns that an order has.
func (o Order) columns() []int {
	switch {
	case o.Has(Derivative):
		return []int{b0, b1, b2, a1}
	case o.Has(MeasureLag) && o.Has(IntegralTime):
		return []int{b0, b1, a1}
	case o.Has(MeasureLag):
		return []int{b1, a1}
	case o.Has(IntegralTime):
		return []int{b0, b1}
	}
	return []int{b1}
}

// levy solves for a given dead time, and again with the weights of the solution
// before.
func levy(sets []Set, o Order, delay float64) (Law, bool) {
	var x [4]float64
	for range again {
		next, ok := equation(sets, o.columns(), delay, x[a1])
		if !ok {
			return Law{}, false
		}
		x = next
	}
	return lawOf(x, o, delay)
}

// equation is the linear least squares of N(s) − H·e^{sL}·D(s), with D weighted by
// that of a known a.
func equation(sets []Set, columns []int, delay, a float64) (x [4]float64, ok bool) {
	rows := 0
	for _, s := range sets {
		rows += 2 * len(s.Lines)
	}
	m, y := mat.NewDense(rows, len(columns), nil), mat.NewVecDense(rows, nil)
	row := 0
	for _, s := range sets {
		for _, l := range s.Lines {
			jw := complex(0, l.Omega)
			h := l.H * cmplx.Rect(1, l.Omega*delay)
			weight := complex(1/l.Sigma, 0) / (1 + complex(a, 0)*jw)
			terms := [4]complex128{weight / jw, weight, weight * jw, -weight * h * jw}
			for k, c := range columns {
				m.Set(row, k, real(terms[c]))
				m.Set(row+1, k, imag(terms[c]))
			}
			y.SetVec(row, real(weight*h))
			y.SetVec(row+1, imag(weight*h))
			row += 2
		}
	}
	var solved mat.VecDense
	if rows < len(columns) || solved.SolveVec(m, y) != nil {
		return x, false
	}
	for k, c := range columns {
		x[c] = solved.AtVec(k)
	}
	return x, true
}

// lawOf turns the rational function into terms; ok is false where one that the order
// has is not above 0.
func lawOf(x [4]float64, o Order, delay float64) (l Law, ok bool) {
	l[DeadTime], l[Gain] = delay, x[b1]
	if o.Has(Derivative) {
		l[DerivativeLag] = x[a1]
		l[Gain] = x[b1] - x[b0]*x[a1]
		l[Derivative] = x[b2]/l[Gain] - x[a1]
	}
	if o.Has(MeasureLag) {
		l[MeasureLag] = x[a1]
	}
	if o.Has(IntegralTime) {
		l[IntegralTime] = l[Gain] / x[b0]
	}
	for _, t := range o {
		if !(l[t] > 0) || math.IsInf(l[t], 0) {
			return l, false
		}
	}
	return l, true
}
