package loop

// Lag is gain/(T·s + 1).
func Lag(gain, t float64) Response {
	return func(w float64) complex128 { return complex(gain, 0) / complex(1, w*t) }
}

// Integrator is gain/s, for instance the inertia of a shaft with gain 1/J.
func Integrator(gain float64) Response {
	return func(w float64) complex128 { return complex(gain, 0) / complex(0, w) }
}

// Within is within of a response over a band.
func Within(l Response, b Band, t Target) (Interval, error) {
	c, err := sample(l, b)
	if err != nil {
		return Interval{}, err
	}
	return c.within(t)
}
