// Package bound checks that a quantity lies where the equations hold, and says
// so in an error that a caller can match and place. What makes sense for a
// person's machine is narrower and declared in sim/machine.
package bound

import (
	"fmt"
	"math"
)

// Error tells that a quantity is outside its range.
type Error struct {
	// Package and Field name the parameter as the code does: "rotor", "Radius".
	Package, Field string
	// Value was given; Low and High are the ends of the range, both allowed,
	// all in Unit.
	Value, Low, High float64
	// Unit is the SI unit, empty for a pure number.
	Unit string
}

func (e *Error) Error() string {
	unit := e.Unit
	if unit != "" {
		unit = " " + unit
	}
	text := fmt.Sprintf("%s: %s is %g%s, ", e.Package, e.Field, e.Value, unit)
	switch {
	case e.High < math.MaxFloat64:
		return text + fmt.Sprintf("outside %g to %g%s", e.Low, e.High, unit)
	case e.Low > math.SmallestNonzeroFloat64:
		return text + fmt.Sprintf("below %g%s or no number", e.Low, unit)
	case e.Low > 0:
		return text + "not above 0"
	}
	return text + "below 0 or no number"
}

// List checks the fields of one package and keeps the first error.
type List struct {
	pkg string
	err error
}

// Of begins a list of checks for the named package.
func Of(pkg string) *List { return &List{pkg: pkg} }

// Field checks low <= value <= high. NaN is outside every range.
func (l *List) Field(name string, value, low, high float64, unit string) *List {
	if l.err == nil && (math.IsNaN(value) || value < low || value > high) {
		l.err = &Error{Package: l.pkg, Field: name, Value: value, Low: low, High: high, Unit: unit}
	}
	return l
}

// Positive checks that a value is above zero and finite.
func (l *List) Positive(name string, value float64, unit string) *List {
	return l.Field(name, value, math.SmallestNonzeroFloat64, math.MaxFloat64, unit)
}

// NotNegative checks that a value is zero or above, and finite.
func (l *List) NotNegative(name string, value float64, unit string) *List {
	return l.Field(name, value, 0, math.MaxFloat64, unit)
}

// Err gives the first error, an *Error, or nil.
func (l *List) Err() error { return l.err }
