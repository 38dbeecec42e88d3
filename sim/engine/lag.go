package engine

import "math"

// lag is a first-order lag, exact for an input that runs straight from step to
// step.
type lag struct {
	keep, old, fresh float64
	input, output    float64
}

func newLag(constant, dt float64) lag {
	if constant <= 0 {
		return lag{fresh: 1}
	}
	h := dt / constant
	rise := -math.Expm1(-h)
	return lag{keep: 1 - rise, old: rise/h - (1 - rise), fresh: 1 - rise/h}
}

func (l *lag) settle(value float64) { l.input, l.output = value, value }

func (l *lag) next(input float64) float64 {
	l.output = l.keep*l.output + l.old*l.input + l.fresh*input
	l.input = input
	return l.output
}
