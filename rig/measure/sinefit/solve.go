package sinefit

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"govrig/rig/measure"
)

// linear solves A, B and C for the frequency and growth that stand.
func (f *Sine) linear(s measure.Series) error {
	x, _, err := f.solve(s, 3)
	if err != nil {
		return err
	}
	f.A, f.B, f.C = f.turn(x[0], x[1], x[2])
	return nil
}

// direction gives the correction of ω (rad/s) and of the growth (1/s) from the
// fit with their derivatives as columns, IEEE 1057.
func (f *Sine) direction(s measure.Series, damped bool) (dw, dg float64, err error) {
	columns := 4
	if damped {
		columns = 5
	}
	x, _, err := f.solve(s, columns)
	if err != nil {
		return 0, 0, err
	}
	if damped {
		dg = x[4]
	}
	return x[3], dg, nil
}

// errors fills in the standard errors from the covariance of the fit.
func (f *Sine) errors(s measure.Series, damped bool) error {
	columns := 4
	if damped {
		columns = 5
	}
	_, inverse, err := f.solve(s, columns)
	if err != nil {
		return err
	}
	n := float64(s.Len())
	variance := f.Residual * f.Residual * n / (n - float64(columns))
	f.FrequencyError = math.Sqrt(variance*inverse.At(3, 3)) / (2 * math.Pi)
	f.AmplitudeError = math.Sqrt(variance * (inverse.At(0, 0) + inverse.At(1, 1)) / 2)
	if damped {
		f.GrowthError = math.Sqrt(variance * inverse.At(4, 4))
	}
	return nil
}

// solve builds and solves the normal equations with the columns
//
//	e·cos, e·sin, 1, e·τ(−A'sin + B'cos), e·τ(A'cos + B'sin),  e = e^{στ},
//
// of which it takes the first so many. Time runs from the middle of the data
// (τ), where the columns are nearly orthogonal; A' and B' belong to that
// origin. It also gives the inverse of the normal matrix.
func (f *Sine) solve(s measure.Series, columns int) ([]float64, *mat.SymDense, error) {
	a, b := f.local()
	w := 2 * math.Pi * f.Frequency
	var m [5][5]float64
	var v [5]float64
	level := s.Y[0]
	for i, t := range s.T {
		tau := t - f.Origin
		sin, cos := math.Sincos(w * tau)
		e := 1.0
		if f.Growth != 0 {
			e = math.Exp(f.Growth * tau)
		}
		row := [5]float64{e * cos, e * sin, 1, e * tau * (b*cos - a*sin), e * tau * (a*cos + b*sin)}
		for j := range columns {
			for k := j; k < columns; k++ {
				m[j][k] += row[j] * row[k]
			}
			v[j] += row[j] * (s.Y[i] - level)
		}
	}
	x, inverse, err := invert(&m, &v, columns)
	if err != nil {
		return nil, nil, err
	}
	x[2] += level
	return x, inverse, nil
}

func invert(m *[5][5]float64, v *[5]float64, n int) ([]float64, *mat.SymDense, error) {
	// Scale to a unit diagonal: the columns differ by orders of magnitude.
	normal, scale := mat.NewSymDense(n, nil), make([]float64, n)
	for j := range n {
		if !(m[j][j] > 0) {
			return nil, nil, fmt.Errorf("%w: nothing to fit", ErrFit)
		}
		scale[j] = 1 / math.Sqrt(m[j][j])
	}
	right := mat.NewVecDense(n, nil)
	for j := range n {
		right.SetVec(j, v[j]*scale[j])
		for k := j; k < n; k++ {
			normal.SetSym(j, k, m[j][k]*scale[j]*scale[k])
		}
	}
	var c mat.Cholesky
	if !c.Factorize(normal) || c.Cond() > 1e12 {
		return nil, nil, fmt.Errorf("%w: the data does not tell the parameters apart", ErrFit)
	}
	var x mat.VecDense
	inverse := mat.NewSymDense(n, nil)
	if c.SolveVecTo(&x, right) != nil || c.InverseTo(inverse) != nil {
		return nil, nil, fmt.Errorf("%w: the data does not tell the parameters apart", ErrFit)
	}
	out := make([]float64, n)
	for j := range n {
		out[j] = x.AtVec(j) * scale[j]
		for k := j; k < n; k++ {
			inverse.SetSym(j, k, inverse.At(j, k)*scale[j]*scale[k])
		}
	}
	return out, inverse, nil
}

// local turns A and B from the time of the series to the middle of the data.
func (f *Sine) local() (a, b float64) {
	sin, cos := math.Sincos(2 * math.Pi * f.Frequency * f.Origin)
	return f.A*cos + f.B*sin, f.B*cos - f.A*sin
}

// turn is the way back.
func (f *Sine) turn(a, b, c float64) (A, B, C float64) {
	sin, cos := math.Sincos(2 * math.Pi * f.Frequency * f.Origin)
	return a*cos - b*sin, b*cos + a*sin, c
}
