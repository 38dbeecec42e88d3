package fit

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// cost is the sum of squares of the weighted errors.
func cost(sets []Set, l *Law) (sum float64) {
	for i := range sets {
		for _, line := range sets[i].Lines {
			e := (line.H - l.At(line.Omega, &sets[i])) / complex(line.Sigma, 0)
			sum += real(e)*real(e) + imag(e)*imag(e)
		}
	}
	return sum
}

const (
	mostSteps = 60
	enough    = 1e-9 // relative change of the cost at which it ends
)

// refine makes the weighted error least from first values, and gives the variances
// and covariances of the terms as the refinement moves them.
func refine(sets []Set, o Order, l Law) (Law, *mat.SymDense) {
	at, damping := cost(sets, &l), 1e-3
	for range mostSteps {
		j, e := slopes(sets, o, &l)
		before := at
		for ; damping < 1e9; damping *= 10 {
			next := step(j, e, damping, o, l)
			if c := cost(sets, &next); c < at {
				l, at, damping = next, c, damping/10
				break
			}
		}
		if before-at <= enough*before {
			break
		}
	}
	j, _ := slopes(sets, o, &l)
	return l, covariance(j)
}

// slopes are the derivatives of each weighted part to each term, by differences, and
// the weighted errors.
func slopes(sets []Set, o Order, l *Law) (*mat.Dense, *mat.VecDense) {
	const small = 1e-5
	rows := 0
	for _, s := range sets {
		rows += 2 * len(s.Lines)
	}
	j, e := mat.NewDense(rows, len(o), nil), mat.NewVecDense(rows, nil)
	for k, t := range o {
		up, down := *l, *l
		up.setFree(t, l.free(t)+small)
		down.setFree(t, l.free(t)-small)
		row := 0
		for i := range sets {
			for _, line := range sets[i].Lines {
				d := (up.At(line.Omega, &sets[i]) - down.At(line.Omega, &sets[i])) / complex(2*small*line.Sigma, 0)
				j.Set(row, k, real(d))
				j.Set(row+1, k, imag(d))
				if k == 0 {
					r := (line.H - l.At(line.Omega, &sets[i])) / complex(line.Sigma, 0)
					e.SetVec(row, real(r))
					e.SetVec(row+1, imag(r))
				}
				row += 2
			}
		}
	}
	return j, e
}

// step is one of Levenberg and Marquardt (Marquardt, SIAM Journal 11, 1963, from
// memory): least squares of the slopes with a damping of each term below them.
func step(j *mat.Dense, e *mat.VecDense, damping float64, o Order, l Law) Law {
	rows, n := j.Dims()
	m, y := mat.NewDense(rows+n, n, nil), mat.NewVecDense(rows+n, nil)
	for k := range n {
		size := 0.0
		for i := range rows {
			m.Set(i, k, j.At(i, k))
			size += j.At(i, k) * j.At(i, k)
		}
		m.Set(rows+k, k, math.Sqrt(damping*(size+1e-12)))
	}
	for i := range rows {
		y.SetVec(i, e.AtVec(i))
	}
	var x mat.VecDense
	if x.SolveVec(m, y) != nil {
		return l
	}
	const longest = 0.7 // of a logarithm: no term more than doubles in a step
	for k, t := range o {
		l.setFree(t, l.free(t)+math.Max(-longest, math.Min(longest, x.AtVec(k))))
	}
	return l
}

// covariance is the inverse of the information JᵀJ; nil where the lines do not tell
// the terms apart.
func covariance(j *mat.Dense) *mat.SymDense {
	_, n := j.Dims()
	var square mat.SymDense
	square.SymOuterK(1, j.T())
	var factor mat.Cholesky
	if !factor.Factorize(&square) || factor.Cond() > 1e12 {
		return nil
	}
	v := mat.NewSymDense(n, nil)
	if factor.InverseTo(v) != nil {
		return nil
	}
	return v
}
