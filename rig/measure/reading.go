package measure

import (
	"fmt"
	"math"
)

// Reading is one number read from data, or the reason why there is none.
// The zero Reading is the number 0; use Missing for the absence of one.
type Reading struct {
	// Value means nothing when Why is set.
	Value float64
	// Why tells why no number could be read. Empty when one was.
	Why string
	// Detail completes the declared convention with what is known only after
	// the data was seen: the window used, the reference speed.
	Detail string
	// Uncertainty is half the width of the interval that holds the true value with
	// a chance of 95 %, in the unit of Value; 0 where it is not told.
	Uncertainty float64
	// AtLeast tells that Value is a lower bound: the true one is that or more.
	AtLeast bool
	// Warnings travel with the number.
	Warnings []string
}

// Read makes a reading of v, or a missing one when v is no finite number.
func Read(v float64, warnings ...string) Reading {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return Missing("the computation gave no finite number")
	}
	return Reading{Value: v, Warnings: warnings}
}

// Missing makes a reading without a number.
func Missing(format string, args ...any) Reading {
	return Reading{Why: fmt.Sprintf(format, args...)}
}

// OK reports whether there is a number.
func (r Reading) OK() bool { return r.Why == "" }

// With adds a detail of the convention.
func (r Reading) With(format string, args ...any) Reading {
	r.Detail = fmt.Sprintf(format, args...)
	return r
}

// Warn adds a warning to a copy of the reading.
func (r Reading) Warn(format string, args ...any) Reading {
	w := make([]string, len(r.Warnings), len(r.Warnings)+1)
	copy(w, r.Warnings)
	r.Warnings = append(w, fmt.Sprintf(format, args...))
	return r
}
