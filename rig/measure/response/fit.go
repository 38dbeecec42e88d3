package response

import (
	"fmt"
	"math"
	"math/cmplx"
	"sort"

	"govrig/rig/measure/loop"
)

// Fit is a description of a measured governor as PI with dead time.
type Fit struct {
	loop.PI
	// Standard errors, from the confidence of the points.
	KpError, TiError, DelayError float64 // TiError relative to Ti is below 1 when Ti is known
	// Residual is the root mean square of |H − fit|/|H| over the points, and
	// Worst the greatest: how well the words "PI with dead time" describe what
	// was measured.
	Residual, Worst float64
}

// mostResidual is the residual, 0.9 dB or 6°, up to which a fit is believed: a
// few tenths of what is asked of a margin.
const mostResidual = 0.1

// Good reports whether the fit describes what was measured well enough to
// conclude from it: a residual of no more than a tenth, and none of twice that
// at any line.
func (f Fit) Good() bool { return f.Residual <= mostResidual && f.Worst <= 2*mostResidual }

// leastError keeps one very clean line from deciding the fit alone.
const leastError = 0.003

// FitPI fits −H = Kp(1 + 1/(jωTi))·e^{−jωL} to points measured from speed to
// throttle; the sign is turned because throttle falls as speed rises. It needs
// two usable points at least, and a dead time below half a period of the
// lowest line.
func FitPI(points []Point) (Fit, error) {
	points = Usable(points)
	if len(points) < 2 {
		return Fit{}, fmt.Errorf("%w: %d usable lines are too few for a fit", ErrInput, len(points))
	}
	sort.Slice(points, func(i, j int) bool { return points[i].Frequency < points[j].Frequency })
	lowest, highest := points[0].Frequency, points[len(points)-1].Frequency
	step := 1 / (40 * highest)
	best, least := 0.0, math.Inf(1)
	for l := 0.0; l < 0.5/lowest; l += step {
		if _, _, cost := linear(points, l); cost < least {
			best, least = l, cost
		}
	}
	best = refine(points, math.Max(0, best-step), best+step)
	return describe(points, best)
}

// linear solves Kp and Ki = Kp/Ti for a given dead time and gives the weighted
// sum of squares.
func linear(points []Point, delay float64) (kp, ki, cost float64) {
	var ww, wk, rr, ri float64
	for _, p := range points {
		g := -p.H * cmplx.Exp(complex(0, p.Omega()*delay))
		w := weight(p)
		ww += w
		wk += w / (p.Omega() * p.Omega())
		rr += w * real(g)
		ri += w * -imag(g) / p.Omega()
	}
	kp, ki = rr/ww, ri/wk
	for _, p := range points {
		g := -p.H * cmplx.Exp(complex(0, p.Omega()*delay))
		e := g - complex(kp, -ki/p.Omega())
		cost += weight(p) * real(e*cmplx.Conj(e))
	}
	return kp, ki, cost
}

// weight is 1/σ² of one part of H.
func weight(p Point) float64 {
	sigma := p.Gain() * math.Max(p.GainError, leastError)
	return 1 / (sigma * sigma)
}

// refine is golden section on the dead time.
func refine(points []Point, a, b float64) float64 {
	ratio := (math.Sqrt(5) - 1) / 2
	for b-a > 1e-9 {
		c, d := b-ratio*(b-a), a+ratio*(b-a)
		_, _, fc := linear(points, c)
		_, _, fd := linear(points, d)
		if fc < fd {
			b = d
		} else {
			a = c
		}
	}
	return (a + b) / 2
}

func describe(points []Point, delay float64) (Fit, error) {
	kp, ki, cost := linear(points, delay)
	if !(kp > 0) {
		return Fit{}, fmt.Errorf("%w: the gain comes out as %.3g: throttle does not fall as speed rises", ErrInput, kp)
	}
	f := Fit{PI: loop.PI{Kp: kp, Ti: math.Inf(1), Delay: delay}}
	if ki > 0 {
		f.Ti = kp / ki
	}
	f.errors(points, kp, ki, cost)
	for _, p := range points {
		e := cmplx.Abs(-p.H-f.At(p.Omega())) / p.Gain()
		f.Residual += e * e / float64(len(points))
		f.Worst = math.Max(f.Worst, e)
	}
	f.Residual = math.Sqrt(f.Residual)
	return f, nil
}

// errors linearises the fit. Each point gives two equations, real and
// imaginary, in Kp, Ki and L; the standard errors grow with a misfit that the
// confidence of the points does not explain.
func (f *Fit) errors(points []Point, kp, ki, cost float64) {
	var m [3][3]float64
	for _, p := range points {
		turn := cmplx.Exp(complex(0, -p.Omega()*f.Delay))
		g := complex(kp, -ki/p.Omega()) * turn
		d := [3]complex128{turn, turn / complex(0, p.Omega()), complex(0, -p.Omega()) * g}
		for i := range d {
			for j := range d {
				m[i][j] += weight(p) * real(d[i]*cmplx.Conj(d[j]))
			}
		}
	}
	v := inverse3(m)
	misfit := math.Max(1, cost/math.Max(1, float64(2*len(points)-3)))
	f.KpError = math.Sqrt(misfit * v[0][0])
	f.DelayError = math.Sqrt(misfit * v[2][2])
	if ki > 0 {
		variance := v[0][0]/(kp*kp) + v[1][1]/(ki*ki) - 2*v[0][1]/(kp*ki)
		f.TiError = f.Ti * math.Sqrt(misfit*math.Max(0, variance))
	} else {
		f.TiError = math.Inf(1)
	}
}

// inverse3 inverts a symmetric 3×3 matrix by cofactors.
func inverse3(m [3][3]float64) (v [3][3]float64) {
	for i := range 3 {
		for j := range 3 {
			a, b := (j+1)%3, (j+2)%3
			c, d := (i+1)%3, (i+2)%3
			v[i][j] = m[a][c]*m[b][d] - m[a][d]*m[b][c]
		}
	}
	det := m[0][0]*v[0][0] + m[0][1]*v[1][0] + m[0][2]*v[2][0]
	for i := range 3 {
		for j := range 3 {
			v[i][j] /= det
		}
	}
	return v
}
