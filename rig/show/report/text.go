// Package report writes what came of a procedure: text for a person, JSON for
// a program.
//
// Rules of the text: the first line says whether any hardware took part; no
// line is wider than 100 columns; every number has its unit, and what it means
// stands beside it; nothing depends on colour.
package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"govrig/protocol/harmless"
	"govrig/rig/execution"
	"govrig/rig/finding"
	"govrig/rig/measure"
	"govrig/rig/runlog"
	"govrig/sim/machine"
	"govrig/sim/words"
)

// JSON writes the result document.
func JSON(w io.Writer, result measure.Result) error {
	return words.JSON(w, result)
}

const rpm = 60 / (2 * math.Pi)

// Text writes a run for a person; m is nil for one without a machine.
func Text(w io.Writer, m *machine.Machine, r *execution.Run) error {
	var b strings.Builder
	heading(&b, m, r)
	if danger := finding.Danger(r.Result); danger != "" {
		b.WriteString(words.Indent("", danger))
		b.WriteString("\n")
	}
	chart(&b, &r.Course)
	table(&b, r.Result.Measures)
	for _, sentence := range r.Found {
		b.WriteString(words.Indent("found: ", sentence))
	}
	for _, warning := range r.Result.Warnings {
		b.WriteString(words.Indent("note: ", warning))
	}
	for _, sentence := range r.Next {
		b.WriteString(words.Indent("next: ", sentence))
	}
	if len(r.Result.Warnings)+len(r.Found)+len(r.Next) > 0 {
		b.WriteString("\n")
	}
	b.WriteString(words.Indent("", verdict(r)))
	if r.Dir != "" {
		fmt.Fprintf(&b, "Record: %s\n", harmless.Line(r.Dir))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func heading(b *strings.Builder, m *machine.Machine, r *execution.Run) {
	fmt.Fprintf(b, "%s\n\n", runlog.Provenance(r.Result.Virtual, r.Subject))
	if m == nil {
		fmt.Fprintf(b, "%s\n\n", r.Result.Procedure)
		return
	}
	if r.Setting.Name == "" {
		fmt.Fprintf(b, "%s: %s\n\n", r.Result.Procedure, m.Name)
		return
	}
	engine := float64(r.Setting.HeadSpeed) * m.Ratio() * rpm
	fmt.Fprintf(b, "%s: %s, speed setting %q\n", r.Result.Procedure, m.Name, r.Setting.Name)
	fmt.Fprintf(b, "wanted: %.0f rpm at the head, which is %.0f rpm at the engine (ratio %.3f)\n\n",
		float64(r.Setting.HeadSpeed)*rpm, engine, m.Ratio())
}

// table writes the measures in the order of their declaration.
func table(b *strings.Builder, measures []measure.Measure) {
	width := 30
	for _, m := range measures {
		width = max(width, len(m.Name))
	}
	row := func(name, value, unit, limit, outcome string) {
		line := fmt.Sprintf("  %-*s %s %-4s  %s  %s", width, name, words.Left(value, 10), unit, words.Right(limit, 18), outcome)
		b.WriteString(strings.TrimRight(line, " ") + "\n")
	}
	row("measure", "value", "", "must be", "outcome")
	row(strings.Repeat("-", width), strings.Repeat("-", 10), "----", strings.Repeat("-", 18), "-------")
	for _, m := range measures {
		value := "-"
		if m.Value != nil {
			value = figure(&m)
		}
		unit := m.Unit
		if unit == "1" {
			unit = ""
		}
		row(m.Name, value, unit, m.Limit.String(), word(m))
	}
	b.WriteString("\n")
	meanings(b, measures)
}

// meanings says what the measures mean, once for those that differ only in
// where they were taken, and what there is to remark on each.
func meanings(b *strings.Builder, measures []measure.Measure) {
	var order []string
	families := map[string][]*measure.Measure{} // by what they mean, up to a colon
	for i := range measures {
		general, _, _ := strings.Cut(strings.TrimSuffix(measures[i].Meaning, "."), ": ")
		if families[general] == nil {
			order = append(order, general)
		}
		families[general] = append(families[general], &measures[i])
	}
	for _, general := range order {
		explain(b, general, families[general])
	}
	b.WriteString("\n")
}

// explain says what measures of one family mean.
func explain(b *strings.Builder, general string, family []*measure.Measure) {
	label, meaning := family[0].Name, family[0].Meaning
	for _, m := range family[1:] {
		for !strings.HasPrefix(m.Name, label) {
			label = label[:len(label)-1]
		}
		if m.Meaning != meaning {
			meaning = general + "."
		}
	}
	if len(family) > 1 {
		label += "…"
	}
	b.WriteString(words.Indent("  "+label+": ", meaning))
	for _, m := range family {
		remarks := m.Warnings
		if m.Uncertainty > 0 {
			remarks = append([]string{"sure to ±" + words.WithUnit(words.Short(m.Uncertainty), m.Unit) + ", in 19 cases of 20"}, remarks...)
		}
		for _, remark := range remarks {
			if len(family) > 1 {
				remark = m.Name + ": " + remark
			}
			b.WriteString(words.Indent("    ", remark))
		}
	}
}

// word is the outcome as a person says it.
func word(m measure.Measure) string {
	switch {
	case m.Outcome == measure.NotRun:
		return "not run"
	case m.Outcome == measure.Pass && m.Limit == nil:
		return ""
	}
	return string(m.Outcome)
}

// verdict sums the run up in words.
func verdict(r *execution.Run) string {
	failed := 0
	for _, m := range r.Result.Measures {
		if m.Outcome == measure.Fail {
			failed++
		}
	}
	var text string
	switch r.Result.Outcome {
	case measure.Pass:
		text = "Pass: every limit was met."
	case measure.Fail:
		text = fmt.Sprintf("Fail: %d limit(s) missed; the table says which.", failed)
	case measure.NotRun:
		text = "Not run: not everything could be measured; see the notes."
	default:
		text = "Error: the rig went wrong, which says nothing about the " + subject(r) + "; see the notes."
	}
	if r.Result.Virtual {
		text += " It was a virtual run: before a real start, run it on the bench with the real " + subject(r) + "."
	}
	return text
}
