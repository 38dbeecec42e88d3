// Package bound checks that a quantity lies in its range, and says so in an
// error that a caller can match and place.
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
	return fmt.Sprintf("%s: %s is %g%s, outside %g to %g%s",
		e.Package, e.Field, e.Value, unit, e.Low, e.High, unit)
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

// Err gives the first error, an *Error, or nil.
func (l *List) Err() error { return l.err }
