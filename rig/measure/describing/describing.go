// Package describing predicts limit cycles by describing functions: the gain
// that a non-linear part shows to a sine of a given amplitude. Formulas as in
// Gelb & Vander Velde, Multiple-Input Describing Functions, appendices (from
// memory), each checked in the tests by the Fourier integral it stands for.
//
// A describing function neglects the harmonics; predictions are good to some
// 5 to 20 %, best where the loop filters well.
package describing

import "math"

// Function is the gain to the fundamental of a sine of amplitude a.
type Function func(a float64) complex128

// Backlash is play of total width b between driver and driven, friction
// holding the driven part still within it.
func Backlash(b float64) Function {
	return func(a float64) complex128 {
		if b <= 0 {
			return 1
		}
		if a <= b/2 {
			return 0
		}
		k := 1 - b/a
		root := math.Sqrt(max(0, 1-k*k))
		return complex(0.5+(math.Asin(k)+k*root)/math.Pi, -(1-k*k)/math.Pi)
	}
}
