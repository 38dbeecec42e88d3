package unit

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
)

const (
	// numberPattern is a number with a decimal point or none; with spaces between
	// groups of three; or with a decimal comma where it cannot be one between
	// thousands.
	numberPattern = `[-+]?(([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][-+]?[0-9]+)?` +
		`|[0-9]{1,3}([` + spaces + `][0-9]{3})+(\.[0-9]+)?` +
		`|[0-9]+,([0-9]{1,2}|[0-9]{4,})|(0|[0-9]{4,}),[0-9]{3})`
	// spaces may stand between number and unit: plain, no-break, thin no-break.
	spaces = " \u00a0\u202f"
)

var (
	number = longest("^" + numberPattern)
	// thousands is a number whose comma may be a decimal one or one between
	// thousands.
	thousands = regexp.MustCompile(`^[-+]?[1-9][0-9]{0,2}(,[0-9]{3})+([^0-9,]|$)`)
)

func longest(pattern string) *regexp.Regexp {
	r := regexp.MustCompile(pattern)
	r.Longest()
	return r
}

// plain is a number as strconv reads it.
var plain = strings.NewReplacer(" ", "", "\u00a0", "", "\u202f", "", ",", ".")

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
	return fmt.Sprintf("%q %s: %s", e.Text, e.Problem, e.Remedy)
}

// Parse reads a number and its unit and gives the SI value. A decimal comma is
// read where it can be nothing else. A zero needs its unit too. Errors are *Error.
func (d *Dimension) Parse(text string) (float64, error) {
	fail := func(problem, remedy string) (float64, error) {
		return 0, &Error{Text: text, Dimension: d, Problem: problem, Remedy: remedy}
	}
	if thousands.MatchString(text) {
		return fail("has a comma that may be a decimal one or stand between thousands", "write "+
			strings.ReplaceAll(text, ",", "")+" or "+strings.ReplaceAll(text, ",", "."))
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
	n, err := strconv.ParseFloat(plain.Replace(digits), 64)
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
