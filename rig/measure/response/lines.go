package response

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"govrig/rig/measure"
)

// perUnknown is how many samples a period must hold for each unknown.
const perUnknown = 2

// amplitudes fits a level and every line to each whole period of a series, by
// least squares, from the period numbered first to the end, once the steady
// drift of the levels from period to period has been taken out. Times need not
// be even. The result is indexed by period and line; each is the complex
// amplitude X of Re X·e^{jω(t−Start)}.
//
// The drift is read between the periods, not within them: a slope fitted
// within a period would also take up part of any harmonic that the governor
// adds.
func amplitudes(s measure.Series, m Multisine, first, periods int) ([][]complex128, error) {
	fits := make([]periodFit, periods)
	for p := range fits {
		from := m.Start + float64(first+p)*m.Period
		window := s.Between(from, from+m.Period)
		if window.Len() < perUnknown*(1+2*len(m.Lines)) {
			return nil, fmt.Errorf("%w: %d samples in the period from %.3f s cannot tell %d lines apart",
				ErrInput, window.Len(), from, len(m.Lines))
		}
		if g := window.Gaps(); len(g) > 0 {
			return nil, fmt.Errorf("%w: no samples from %.3f s to %.3f s", ErrInput, g[0].From, g[0].To)
		}
		f, err := fitPeriod(window, m)
		if err != nil {
			return nil, err
		}
		fits[p] = f
	}
	return level(fits, len(m.Lines)), nil
}

// level takes the drift of the levels out of the lines of the periods.
func level(fits []periodFit, lines int) [][]complex128 {
	drift := driftOf(fits)
	out := make([][]complex128, len(fits))
	for p, f := range fits {
		out[p] = make([]complex128, lines)
		for k := range out[p] {
			out[p][k] = f.lines[k] - complex(drift, 0)*f.rampLines[k]
		}
	}
	return out
}

// periodFit is the fit to one period, of the data and of a ramp of slope one
// sampled at the same times.
type periodFit struct {
	level, rampLevel float64
	lines, rampLines []complex128
}

// driftOf is the slope that makes the levels of the periods even.
func driftOf(fits []periodFit) float64 {
	middle := float64(len(fits)-1) / 2
	var data, ramp float64
	for p, f := range fits {
		data += (float64(p) - middle) * f.level
		ramp += (float64(p) - middle) * f.rampLevel
	}
	return data / ramp
}

func fitPeriod(s measure.Series, m Multisine) (periodFit, error) {
	n := 1 + 2*len(m.Lines)
	row, sum, right := make([]float64, n), make([]float64, n*n), mat.NewDense(n, 2, nil)
	for i, t := range s.T {
		row[0] = 1
		for k := range m.Lines {
			sin, cos := math.Sincos(2 * math.Pi * m.Frequency(k) * (t - m.Start))
			row[1+2*k], row[2+2*k] = cos, -sin
		}
		y, ramp := s.Y[i]-s.Y[0], t-s.T[0]
		for j, a := range row {
			right.Set(j, 0, right.At(j, 0)+a*y)
			right.Set(j, 1, right.At(j, 1)+a*ramp)
			for k := j; k < n; k++ {
				sum[j*n+k] += a * row[k]
			}
		}
	}
	var c mat.Cholesky
	var x mat.Dense
	if !c.Factorize(mat.NewSymDense(n, sum)) || c.Cond() > 1e10 || c.SolveTo(&x, right) != nil {
		return periodFit{}, fmt.Errorf("%w: the samples from %.3f s cannot tell the lines apart", ErrInput, s.T[0])
	}
	f := periodFit{level: x.At(0, 0) + s.Y[0], rampLevel: x.At(0, 1) + s.T[0]}
	for k := range m.Lines {
		f.lines = append(f.lines, complex(x.At(1+2*k, 0), x.At(2+2*k, 0)))
		f.rampLines = append(f.rampLines, complex(x.At(1+2*k, 1), x.At(2+2*k, 1)))
	}
	return f, nil
}
