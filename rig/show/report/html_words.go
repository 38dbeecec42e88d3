package report

import (
	"regexp"
	"strconv"
	"strings"

	"govrig/rig/measure"
	"govrig/rig/procedure"
	"govrig/sim/words"
)

// quantity is a number with its unit.
func quantity(v float64, unit string) string {
	return words.Minus(words.WithUnit(words.Number(v), unit))
}

// short is quantity with three digits.
func short(v float64, unit string) string {
	return words.Minus(words.WithUnit(words.Short(v), unit))
}

// limited is a measure's value with its limit, short: for a caption.
func limited(m *measure.Measure) string {
	text := short(*m.Value, m.Unit)
	if m.Limit == nil {
		return text
	}
	return text + " (" + limit(m) + ")"
}

// minus puts minus signs in the place of hyphens before figures.
func minus(lines []string) []string {
	out := make([]string, len(lines))
	for i, line := range lines {
		out[i] = words.Minus(line)
	}
	return out
}

// reasons puts the names in the reasons of a verdict into words, and its numbers
// into as many digits as count.
func reasons(lines []string) (out []string) {
	for _, line := range lines {
		line = strings.ReplaceAll(exact.ReplaceAllStringFunc(line, fewer), " ,", ",")
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

// fewer writes a number with the digits that count.
func fewer(digits string) string {
	v, err := strconv.ParseFloat(digits, 64)
	if err != nil {
		return digits
	}
	return words.Number(v)
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
