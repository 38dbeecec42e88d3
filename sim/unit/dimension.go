package unit

import (
	"regexp"
	"strconv"
	"strings"
)

// Unit is a way to write a dimension.
type Unit struct {
	// Symbol is how the unit is printed: "cm³".
	Symbol string
	// SI value = number·Times/Per + Plus. One of Times and Per is 1 wherever the
	// factor allows, so that 9 mm is exactly the float64 nearest to 0.009.
	Times, Per, Plus float64

	spellings []string
}

// Dimension is a kind of quantity.
type Dimension struct {
	// Name is what the quantity is: "length".
	Name string
	// Units are the accepted ones, the usual one first.
	Units []Unit
}

// Text is the units' symbols for a hint: "cm³, cc or ml".
func (d *Dimension) Text() string {
	symbols := make([]string, len(d.Units))
	for i, u := range d.Units {
		symbols[i] = u.Symbol
	}
	last := len(symbols) - 1
	if last == 0 {
		return symbols[0]
	}
	return strings.Join(symbols[:last], ", ") + " or " + symbols[last]
}

// find gives the unit with a spelling.
func (d *Dimension) find(spelling string) (Unit, bool) {
	for _, u := range d.Units {
		for _, s := range u.spellings {
			if s == spelling {
				return u, true
			}
		}
	}
	return Unit{}, false
}

// Format writes an SI value in the given unit, or in the usual one if the
// dimension does not have it: "8.5 mm". Six digits are kept.
func (d *Dimension) Format(si float64, symbol string) string { return d.format(si, symbol, 6) }

// Round is Format with three digits.
func (d *Dimension) Round(si float64, symbol string) string { return d.format(si, symbol, 3) }

func (d *Dimension) format(si float64, symbol string, digits int) string {
	u, ok := d.find(symbol)
	if !ok {
		u = d.Units[0]
	}
	n := strconv.FormatFloat((si-u.Plus)*u.Per/u.Times, 'g', digits, 64)
	if strings.Contains(n, "e") {
		rounded, _ := strconv.ParseFloat(n, 64)
		n = strconv.FormatFloat(rounded, 'f', -1, 64)
	}
	if u.Symbol == "°" {
		return n + "°"
	}
	return n + " " + u.Symbol
}

// Pattern is a regular expression, valid in Go and in ECMAScript, that matches
// what Parse accepts, except for numbers beyond the range of float64.
func (d *Dimension) Pattern() string {
	var all []string
	for _, u := range d.Units {
		for _, s := range u.spellings {
			all = append(all, regexp.QuoteMeta(s))
		}
	}
	return "^" + numberPattern + "[" + spaces + "]*(" + strings.Join(all, "|") + ")$"
}
