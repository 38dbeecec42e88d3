package loop

import (
	"math"
	"math/cmplx"

	"govrig/rig/measure"
)

func (m *Margins) peaks(c curve) {
	m.Sensitivity, m.SensitivityAt = c.peak(func(l complex128) complex128 { return 1 / (1 + l) })
	m.Complementary, m.ComplementaryAt = c.peak(func(l complex128) complex128 { return l / (1 + l) })
}

// peak finds the greatest magnitude of f(L) on the grid and refines it by
// golden section. At the end of the grid it is what the band shows, with a
// warning.
func (c curve) peak(f func(l complex128) complex128) (height, at measure.Reading) {
	best, greatest := 0, -1.0
	for i, v := range c.v {
		z := f(v)
		if g := real(z)*real(z) + imag(z)*imag(z); g > greatest {
			best, greatest = i, g
		}
	}
	if best == 0 || best == len(c.w)-1 {
		const end = "greatest at the end of the band"
		return measure.Read(math.Sqrt(greatest), end), measure.Read(c.w[best], end)
	}
	size := func(w float64) float64 { return cmplx.Abs(f(c.l(w))) }
	x := golden(size, c.w[best-1], c.w[best+1])
	return measure.Read(size(x)), measure.Read(x)
}
