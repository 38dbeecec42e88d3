package unit

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
)

const (
	numberPattern = `[-+]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][-+]?[0-9]+)?`
	// spaces may stand between number and unit: plain, no-break, thin no-break.
	spaces = " \u00a0\u202f"
)

var (
	number = regexp.MustCompile("^" + numberPattern)
	comma  = regexp.MustCompile(`^[-+]?[0-9]*,[0-9]`)
)

// Error tells why a text is not a quantity of the dimension.
type Error struct {
	// Text was given.
	Text string
	// Dimension was wanted.
	Dimension *Dimension
	// Problem says what is wrong, Remedy what would be right.
	Problem, Remedy string
}

func (e *Error) Error() string {
	return fmt.Sprintf("unit: %q %s: %s", e.Text, e.Problem, e.Remedy)
}

// Parse reads a number and its unit and gives the SI value. A zero needs its
// unit too. Errors are *Error.
func (d *Dimension) Parse(text string) (float64, error) {
	fail := func(problem, remedy string) (float64, error) {
		return 0, &Error{Text: text, Dimension: d, Problem: problem, Remedy: remedy}
	}
	if comma.MatchString(text) {
		return fail("has a comma in its number", "write a decimal point, and nothing between thousands")
	}
	digits := number.FindString(text)
	if digits == "" {
		return fail("is not a number with a unit", "write a number and "+d.Text())
	}
	written := strings.TrimLeft(text[len(digits):], spaces)
	if written == "" {
		return fail("has no unit", "add "+d.Text())
	}
	u, ok := d.find(written)
	if !ok {
		return fail(d.wrongUnit(written), "write it in "+d.Text())
	}
	n, err := strconv.ParseFloat(digits, 64)
	si := n*u.Times/u.Per + u.Plus
	if err != nil || math.IsInf(si, 0) {
		return fail("is too large", "write a number within reason")
	}
	return si, nil
}

// wrongUnit says whether a unit belongs to another dimension or to none.
func (d *Dimension) wrongUnit(written string) string {
	for _, other := range Dimensions {
		if _, ok := other.find(written); ok {
			return fmt.Sprintf("is %s, where %s is wanted", article(other.Name), article(d.Name))
		}
	}
	return fmt.Sprintf("has a unit that is not known here, %q", written)
}

func article(noun string) string {
	if strings.ContainsRune("aeiou", rune(noun[0])) {
		return "an " + noun
	}
	return "a " + noun
}
