package report

import (
	"cmp"
	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/sim/words"
)

// Row is a measure in words, as a page shows it.
type Row struct {
	Name    string `json:"name"`
	Value   string `json:"value"`
	Unit    string `json:"unit"`
	Limit   string `json:"limit"`
	Outcome string `json:"outcome"`
	Class   string `json:"class"` // pass, fail, notrun, error, or nothing
	Meaning string `json:"meaning"`
}

// Rows puts the measures of a result into words.
func Rows(result measure.Result) []Row {
	rows := []Row{}
	for i := range result.Measures {
		m := &result.Measures[i]
		row := Row{
			Name: plain(m.Name), Value: "–", Unit: unitOf(m), Limit: limit(m),
			Outcome: word(*m), Class: class(m), Meaning: m.Meaning,
		}
		if m.Value != nil {
			row.Value = words.Minus(figure(m))
		}
		rows = append(rows, row)
	}
	return rows
}

// subject is what a run tested.
func subject(r *execution.Run) string { return cmp.Or(r.Subject, "governor") }

// figure is the number of a measure that was taken; a lower bound says that it is one.
func figure(m *measure.Measure) string {
	if m.AtLeast {
		return "≥ " + words.Number(*m.Value)
	}
	return words.Number(*m.Value)
}
