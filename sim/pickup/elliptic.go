package pickup

import "math"

// cel is Bulirsch's general complete elliptic integral
//
//	∫₀^{π/2} (c·cos²φ + s·sin²φ) / ((cos²φ + p·sin²φ)·√(cos²φ + kc²·sin²φ)) dφ
//
// for kc ≠ 0 and p > 0, by descending Landen steps, each of which doubles the
// digits (Bulirsch, Numerische Mathematik 7 (1965) 78).
func cel(kc, p, c, s float64) float64 {
	const tolerance = 1e-8 // squared by the last step
	p = math.Sqrt(p)
	s /= p
	mean, modulus := 1.0, math.Abs(kc)
	product := modulus
	for {
		c, s = c+s/p, 2*(s+c*product/p)
		p += product / p
		before := mean
		mean += modulus
		if math.Abs(before-modulus) <= before*tolerance {
			return math.Pi / 2 * (s + c*mean) / (mean * (mean + p))
		}
		modulus = 2 * math.Sqrt(product)
		product = modulus * mean
	}
}
