package report

import (
	"math"
	"regexp"
	"strconv"
	"strings"

	"govrig/rig/measure"
	"govrig/rig/procedure"
)

// tidy puts typographic signs in the place of typed ones.
func tidy(text string) string {
	text = strings.ReplaceAll(text, "at most ", "≤ ")
	text = strings.ReplaceAll(text, "at least ", "≥ ")
	if rest, negative := strings.CutPrefix(text, "-"); negative {
		text = "−" + rest
	}
	return strings.ReplaceAll(text, " -", " −")
}

// quantity is a number with its unit.
func quantity(v float64, unit string) string {
	text := tidy(number(v))
	switch unit {
	case "1", "":
		return text
	case "°":
		return text + unit
	}
	return text + " " + unit
}

// limited is a measure's value with its limit, short: for a caption.
func limited(m *measure.Measure) string {
	text := quantity(rounded(*m.Value), m.Unit)
	if m.Limit == nil {
		return text
	}
	return text + " (" + tidy(bounds(m.Limit)) + ")"
}

// rounded keeps three digits.
func rounded(v float64) float64 {
	if v == 0 {
		return 0
	}
	scale := math.Pow(10, 2-math.Floor(math.Log10(math.Abs(v))))
	return math.Round(v*scale) / scale
}

// minus puts minus signs in the place of hyphens before figures.
func minus(lines []string) []string {
	out := make([]string, len(lines))
	for i, line := range lines {
		out[i] = hyphen.ReplaceAllString(line, "$1−$2")
	}
	return out
}

var hyphen = regexp.MustCompile(`(^|[ (/±])-(\d)`)

// reasons puts the names in the reasons of a verdict into words, and its numbers
// into as many digits as count.
func reasons(lines []string) (out []string) {
	for _, line := range lines {
		line = strings.ReplaceAll(exact.ReplaceAllStringFunc(line, short), " ,", ",")
		if name, rest, ok := strings.Cut(line, ": "); ok && procedure.All.Find(name) != nil {
			line = procedure.All.Title(name) + ": " + rest
		} else if name, rest, ok := strings.Cut(line, " "); ok && procedure.All.Find(name) != nil {
			line = procedure.All.Title(name) + " (" + name + ") " + rest
		}
		out = append(out, underscored.ReplaceAllStringFunc(line, plain))
	}
	return minus(out)
}

var (
	underscored = regexp.MustCompile(`[a-z0-9]+(_[a-z0-9]+)+`)
	exact       = regexp.MustCompile(`\d+\.\d{4,}`)
)

// short writes a number with the digits that count.
func short(digits string) string {
	v, err := strconv.ParseFloat(digits, 64)
	if err != nil {
		return digits
	}
	return number(v)
}

// class is the CSS class of an outcome.
func class(m *measure.Measure) string {
	if m.Outcome == measure.Pass && m.Limit == nil {
		return ""
	}
	return outcomeClass(m.Outcome)
}

func outcomeClass(o measure.Outcome) string {
	switch o {
	case measure.Pass:
		return "pass"
	case measure.Fail:
		return "fail"
	case measure.Error:
		return "error"
	}
	return "notrun"
}

// plain makes words of the name of a measure.
func plain(name string) string {
	name = strings.ReplaceAll(name, "_load_on", ", load on")
	name = strings.ReplaceAll(name, "_load_off", ", load off")
	return strings.ReplaceAll(name, "_", " ")
}
