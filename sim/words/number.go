package words

import (
	"math"
	"regexp"
	"strconv"
	"strings"
)

// Number writes a value with four significant digits: none before the point is
// rounded away, zeros at the end are left out, and there is no exponent. The
// minus is a hyphen.
func Number(v float64) string { return digits(v, 4) }

// Short is Number with three significant digits.
func Short(v float64) string { return digits(v, 3) }

func digits(v float64, significant int) string {
	if v == 0 {
		return "0"
	}
	return trimmed(strconv.FormatFloat(v, 'f', clamp(significant-1-exponent(v)), 64))
}

// Stepped writes a value with the decimals that tell it from its neighbours a
// step away, as on an axis, with a printed minus.
func Stepped(v, step float64) string {
	text := strconv.FormatFloat(v, 'f', clamp(-exponent(step*(1+1e-9))), 64)
	if strings.Trim(text, "-0.") == "" {
		text = strings.TrimPrefix(text, "-")
	}
	return Minus(text)
}

// exponent is that of the first significant digit.
func exponent(v float64) int {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0
	}
	return int(math.Floor(math.Log10(math.Abs(v))))
}

// clamp keeps a count of decimals within what is worth reading.
func clamp(decimals int) int { return max(0, min(9, decimals)) }

// trimmed leaves out zeros behind the point, and the sign of nothing.
func trimmed(text string) string {
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	if text == "-0" {
		return "0"
	}
	return text
}

// WithUnit puts a unit behind a number. The unit "1" or none stands for a plain
// number; a degree sign follows without a space (SI Brochure, 9th edition,
// 5.4.3).
func WithUnit(number, unit string) string {
	switch unit {
	case "1", "":
		return number
	case "°":
		return number + unit
	}
	return number + " " + unit
}

var hyphen = regexp.MustCompile(`(^|[ (/±])-(\d)`)

// Minus puts a printed minus in the place of each hyphen that stands before a
// figure and not inside a word or a range.
func Minus(text string) string { return hyphen.ReplaceAllString(text, "$1−$2") }

var nothing = regexp.MustCompile(`(^|[ (])[-−](0(?:\.0+)?)([^0-9.]|$)`)

// Unsigned takes the minus from a zero that was rounded: "-0 %" is "0 %".
func Unsigned(text string) string { return nothing.ReplaceAllString(text, "$1$2$3") }

// Count is a number of things, with the plural of a regular noun: "1 pulse", "2
// pulses".
func Count(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return strconv.Itoa(n) + " " + thing + "s"
}
