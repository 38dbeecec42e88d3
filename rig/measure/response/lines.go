package response

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"govrig/rig/measure"
)

// perUnknown is how many samples a period must hold for each unknown.
const perUnknown = 2

// amplitudes fits a level, a trend and every line to each whole period of a
// series, by least squares, from the period numbered first to the end. Times
// need not be even. The result is indexed by period and line; each is the
// complex amplitude X of Re X·e^{jω(t−Start)}.
func amplitudes(s measure.Series, m Multisine, first, periods int) ([][]complex128, error) {
	out := make([][]complex128, periods)
	for p := range out {
		from := m.Start + float64(first+p)*m.Period
		window := s.Between(from, from+m.Period)
		columns := 2 + 2*len(m.Lines)
		if window.Len() < perUnknown*columns {
			return nil, fmt.Errorf("%w: %d samples in the period from %.3f s cannot tell %d lines apart",
				ErrInput, window.Len(), from, len(m.Lines))
		}
		if g := window.Gaps(); len(g) > 0 {
			return nil, fmt.Errorf("%w: no samples from %.3f s to %.3f s", ErrInput, g[0].From, g[0].To)
		}
		x, err := fitPeriod(window, m, from)
		if err != nil {
			return nil, err
		}
		out[p] = x
	}
	return out, nil
}

func fitPeriod(s measure.Series, m Multisine, from float64) ([]complex128, error) {
	n := 2 + 2*len(m.Lines)
	normal, right := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	row := make([]float64, n)
	sum := make([]float64, n*n)
	for i, t := range s.T {
		row[0], row[1] = 1, (t-from)/m.Period-0.5
		for k := range m.Lines {
			sin, cos := math.Sincos(2 * math.Pi * m.Frequency(k) * (t - m.Start))
			row[2+2*k], row[3+2*k] = cos, -sin
		}
		y := s.Y[i] - s.Y[0]
		for j, a := range row {
			right.SetVec(j, right.AtVec(j)+a*y)
			for k := j; k < n; k++ {
				sum[j*n+k] += a * row[k]
			}
		}
	}
	for j := range n {
		for k := j; k < n; k++ {
			normal.SetSym(j, k, sum[j*n+k])
		}
	}
	var c mat.Cholesky
	var x mat.VecDense
	if !c.Factorize(normal) || c.Cond() > 1e10 || c.SolveVecTo(&x, right) != nil {
		return nil, fmt.Errorf("%w: the samples from %.3f s cannot tell the lines apart", ErrInput, from)
	}
	out := make([]complex128, len(m.Lines))
	for k := range out {
		out[k] = complex(x.AtVec(2+2*k), x.AtVec(3+2*k))
	}
	return out, nil
}
