package fit

import (
	"math"
	"math/cmplx"
	"strings"
)

// Term is a term of the law.
type Term int

// The terms. The gain is in every law, and dead time or turns, or both.
const (
	Gain          Term = iota // K, share of throttle per rad/s, with the throttle closed where it rises
	DeadTime                  // L, s
	IntegralTime              // Ti, s
	Derivative                // Td, s
	DerivativeLag             // Tf, s
	MeasureLag                // Tm, s
	Rise                      // r, by what share of itself the gain has grown at full throttle
	Turns                     // n, turns of the crankshaft by which the speed is older still
	terms
)

// Law is values of the terms; one that is not in the law is 0.
type Law [terms]float64

// Order is the terms that a law has, in the order in which they were added.
type Order []Term

// orders are those that are tried, from the simplest on. A lag and a derivative are
// not tried together: the lines up to 8 Hz do not tell them apart.
var orders = []Order{
	{Gain, DeadTime},
	{Gain, DeadTime, IntegralTime},
	{Gain, DeadTime, MeasureLag},
	{Gain, DeadTime, IntegralTime, MeasureLag},
	{Gain, DeadTime, IntegralTime, Derivative, DerivativeLag},
}

// Has reports whether the order has a term.
func (o Order) Has(t Term) bool {
	for _, have := range o {
		if have == t {
			return true
		}
	}
	return false
}

// String names the order as people do.
func (o Order) String() string {
	name := "P"
	switch {
	case o.Has(Derivative):
		name = "PID"
	case o.Has(IntegralTime):
		name = "PI"
	}
	var more []string
	if o.Has(MeasureLag) {
		more = append(more, "a lag of the measured speed")
	}
	if o.Has(Rise) {
		more = append(more, "a gain that grows with the throttle")
	}
	if len(more) == 0 {
		return name
	}
	return name + " with " + strings.Join(more, " and ")
}

// At is the law's response at ω, rad/s, at an operating point.
func (l *Law) At(omega float64, s *Set) complex128 {
	jw := complex(0, omega)
	c := complex128(1)
	if l[IntegralTime] > 0 {
		c += 1 / (complex(l[IntegralTime], 0) * jw)
	}
	if l[Derivative] > 0 {
		c += complex(l[Derivative], 0) * jw / (1 + complex(l[DerivativeLag], 0)*jw)
	}
	if l[MeasureLag] > 0 {
		c /= 1 + complex(l[MeasureLag], 0)*jw
	}
	return complex(l[Gain]*(1+l[Rise]*s.Share), 0) * c * cmplx.Rect(1, -omega*(l[DeadTime]+l[Turns]*s.Turn))
}

// free is a term as the refinement moves it: its logarithm, where it can only be
// above 0.
func (l *Law) free(t Term) float64 {
	if t == Rise || t == Turns {
		return l[t]
	}
	return math.Log(l[t])
}

func (l *Law) setFree(t Term, v float64) {
	if t == Rise || t == Turns {
		l[t] = v
		return
	}
	l[t] = math.Exp(v)
}
