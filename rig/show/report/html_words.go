package report

import (
	"strings"

	"govrig/rig/measure"
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
