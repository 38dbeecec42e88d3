package describing

import (
	"math"
	"math/cmplx"
	"sort"
)

// Loop is a linear loop transfer function without its sign at the summing
// point: the characteristic equation is 1 + N·L = 0. ω is rad/s.
type Loop func(omega float64) complex128

// Cycle is a predicted limit cycle at the input of the non-linear part.
type Cycle struct {
	Omega     float64 // rad/s
	Amplitude float64 // peak, unit of the non-linear part
	// Stable reports whether the loop comes back to the cycle when disturbed
	// (Loeb's criterion, Gelb & Vander Velde, from memory). Only a stable one
	// is seen.
	Stable bool
}

// Range is where to look for a cycle.
type Range struct {
	OmegaMin, OmegaMax         float64 // rad/s
	AmplitudeMin, AmplitudeMax float64
}

const grid = 160 // points along each axis, spaced evenly in the logarithm

// Cycles finds the solutions of 1 + N(A)·L(jω) = 0 in the range, by amplitude.
func Cycles(l Loop, n Function, r Range) []Cycle {
	var found []Cycle
	amplitudes := logspace(r.AmplitudeMin, r.AmplitudeMax)
	omegas := logspace(r.OmegaMin, r.OmegaMax)
	loop := make([]complex128, len(omegas))
	for j, w := range omegas {
		loop[j] = l(w)
	}
	for i := 1; i < len(amplitudes); i++ {
		n0, n1 := n(amplitudes[i-1]), n(amplitudes[i])
		for j := 1; j < len(omegas); j++ {
			if !encircles(1+n0*loop[j-1], 1+n0*loop[j], 1+n1*loop[j], 1+n1*loop[j-1]) {
				continue
			}
			a, w, ok := refine(l, n, math.Sqrt(amplitudes[i]*amplitudes[i-1]), math.Sqrt(omegas[j]*omegas[j-1]))
			if ok && r.holds(a, w) && !known(found, a, w) {
				found = append(found, Cycle{Omega: w, Amplitude: a, Stable: stable(l, n, a, w)})
			}
		}
	}
	sort.Slice(found, func(i, j int) bool { return found[i].Amplitude < found[j].Amplitude })
	return found
}

// encircles reports whether a cell's corners, taken around, turn once about zero.
func encircles(corners ...complex128) bool {
	turn := 0.0
	for i, c := range corners {
		next := corners[(i+1)%len(corners)]
		if c == 0 || next == 0 {
			return true
		}
		turn += cmplx.Phase(next / c)
	}
	return math.Abs(turn) > math.Pi
}

// refine is Newton's method in the logarithms of amplitude and frequency.
func refine(l Loop, n Function, a, w float64) (float64, float64, bool) {
	for range 60 {
		f := 1 + n(a)*l(w)
		da, dw := slopes(l, n, a, w)
		det := real(da)*imag(dw) - imag(da)*real(dw)
		if det == 0 || cmplx.IsNaN(f) {
			return a, w, false
		}
		x := (-real(f)*imag(dw) + imag(f)*real(dw)) / det
		y := (-imag(f)*real(da) + real(f)*imag(da)) / det
		limit := math.Max(1, math.Max(math.Abs(x), math.Abs(y))/0.1)
		a, w = a*math.Exp(x/limit), w*math.Exp(y/limit)
		if math.Abs(x)+math.Abs(y) < 1e-11 {
			break
		}
	}
	return a, w, cmplx.Abs(1+n(a)*l(w)) < 1e-6
}

// slopes are the derivatives of N·L by ln A and by ln ω.
func slopes(l Loop, n Function, a, w float64) (da, dw complex128) {
	const h = 1e-5
	up, down := math.Exp(h), math.Exp(-h)
	da = (n(a*up) - n(a*down)) * l(w) / (2 * h)
	dw = (l(w*up) - l(w*down)) * n(a) / (2 * h)
	return da, dw
}

// stable is Loeb's criterion: with N·L + 1 = X + jY, ∂X/∂A·∂Y/∂ω −
// ∂X/∂ω·∂Y/∂A > 0.
func stable(l Loop, n Function, a, w float64) bool {
	da, dw := slopes(l, n, a, w)
	return real(da)*imag(dw)-real(dw)*imag(da) > 0
}

func (r Range) holds(a, w float64) bool {
	return a >= r.AmplitudeMin && a <= r.AmplitudeMax && w >= r.OmegaMin && w <= r.OmegaMax
}

func known(found []Cycle, a, w float64) bool {
	for _, c := range found {
		if math.Abs(math.Log(c.Amplitude/a)) < 1e-4 && math.Abs(math.Log(c.Omega/w)) < 1e-4 {
			return true
		}
	}
	return false
}

func logspace(from, to float64) []float64 {
	x := make([]float64, grid)
	for i := range x {
		x[i] = from * math.Pow(to/from, float64(i)/(grid-1))
	}
	return x
}
