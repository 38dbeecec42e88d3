package loop

import "math"

// root finds where f changes its sign between a and b, by bisection.
func root(f func(float64) float64, a, b float64) float64 {
	up := f(a) >= 0
	for range 200 {
		m := (a + b) / 2
		if m <= a || m >= b {
			break
		}
		if (f(m) >= 0) == up {
			a = m
		} else {
			b = m
		}
	}
	return (a + b) / 2
}

// golden finds a maximum of f between a and b by golden section.
func golden(f func(float64) float64, a, b float64) float64 {
	ratio := (math.Sqrt(5) - 1) / 2
	c, d := b-ratio*(b-a), a+ratio*(b-a)
	fc, fd := f(c), f(d)
	for b-a > 1e-10*math.Abs(a+b) {
		if fc > fd {
			b, d, fd = d, c, fc
			c = b - ratio*(b-a)
			fc = f(c)
		} else {
			a, c, fc = c, d, fd
			d = a + ratio*(b-a)
			fd = f(d)
		}
	}
	return (a + b) / 2
}
