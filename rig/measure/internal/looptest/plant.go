// Package looptest holds plants for tests of the measures.
package looptest

import "govrig/rig/measure/loop"

// Lag is gain/(T·s + 1).
func Lag(gain, t float64) loop.Response {
	return func(w float64) complex128 { return complex(gain, 0) / complex(1, w*t) }
}

// Integrator is gain/s, for instance the inertia of a shaft with gain 1/J.
func Integrator(gain float64) loop.Response {
	return func(w float64) complex128 { return complex(gain, 0) / complex(0, w) }
}
