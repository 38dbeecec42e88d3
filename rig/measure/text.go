package measure

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"govrig/sim/words"
)

// WriteText writes the measures for a person: each number with its unit and
// limit, what it means, by which convention it was read, and what to know
// about it.
func (r Result) WriteText(w io.Writer) error {
	var b strings.Builder
	for i := 0; i < len(r.Measures); {
		n := alike(r.Measures[i:])
		if n > 1 {
			writeAlike(&b, r.Measures[i:i+n])
		} else {
			r.Measures[i].writeText(&b)
		}
		i += n
	}
	for _, warning := range r.Warnings {
		b.WriteString(words.Hang("Note: ", warning))
	}
	if len(r.Warnings) > 0 {
		b.WriteString("\n")
	}
	b.WriteString(r.sentence() + "\n")
	_, err := io.WriteString(w, b.String())
	return err
}

// alike counts the measures at the front that were not run for one and the
// same reason; it is at least 1.
func alike(m []Measure) int {
	n := 1
	for n < len(m) && m[0].Value == nil && m[0].Limit == nil && m[n].Value == nil && m[n].Limit == nil &&
		slices.Equal(m[0].Warnings, m[n].Warnings) {
		n++
	}
	return n
}

func writeAlike(b *strings.Builder, m []Measure) {
	var names []string
	for _, x := range m {
		names = append(names, x.Name)
	}
	b.WriteString(words.Hang("not run: ", strings.Join(names, ", ")))
	for _, warning := range m[0].Warnings {
		b.WriteString(words.Hang("    note: ", warning))
	}
	b.WriteString("\n")
}

func (m Measure) writeText(b *strings.Builder) {
	value, texts := "not run", []string(nil)
	if m.Value != nil {
		value, texts = words.WithUnit(words.Number(*m.Value), m.Unit), []string{m.Meaning, m.Convention}
	}
	verdict := ""
	if m.Limit != nil {
		verdict = fmt.Sprintf("  must be %s: %s", m.Limit, strings.ReplaceAll(string(m.Outcome), "_", " "))
	}
	fmt.Fprintf(b, "%-32s %s%s\n", m.Name, value, verdict)
	for _, text := range texts {
		if text != "" {
			b.WriteString(words.Hang("    ", text))
		}
	}
	for _, warning := range m.Warnings {
		b.WriteString(words.Hang("    note: ", warning))
	}
	b.WriteString("\n")
}

// sentence sums up.
func (r Result) sentence() string {
	limits, failed := 0, 0
	for _, m := range r.Measures {
		if m.Limit != nil {
			limits++
		}
		if m.Outcome == Fail {
			failed++
		}
	}
	switch {
	case r.Outcome == Fail:
		return fmt.Sprintf("Fail: limits missed: %d of %d.", failed, limits)
	case r.Outcome == NotRun:
		return "Not run: not everything that was asked for could be measured; the notes say why."
	case r.Outcome == Error:
		return "Error: something went wrong that says nothing about the governor; the notes say what."
	case limits == 0:
		return "Measured; no limits were set, so nothing was judged."
	}
	return fmt.Sprintf("Pass: every limit was met (%d).", limits)
}
