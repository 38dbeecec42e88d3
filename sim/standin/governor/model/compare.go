package model

import (
	"fmt"
	"io"
	"math"
	"strings"

	"govrig/sim/words"
)

// Verdict is what two governor files say of one value.
type Verdict string

// The verdicts.
const (
	Same   Verdict = "same"                        // within what they are uncertain by
	Moved  Verdict = "differs"                     // by more than that
	Untold Verdict = "cannot tell: no uncertainty" // they differ, and nobody knows by how much they may
	Single Verdict = "known of one only"
)

// coverage is how many standard uncertainties of the difference are no difference
// (95 % of chance; JCGM 100, 6.2.1, from memory).
const coverage = 2.0

// Difference is one value in two governor files.
type Difference struct {
	A, B    Entry
	Verdict Verdict
}

// Compare sets the estimates of two files side by side: those that either knows.
func Compare(a, b *Model) (all []Difference) {
	other := b.Entries()
	for i, e := range a.Entries() {
		if d := (Difference{A: e, B: other[i]}); e.Known || other[i].Known {
			d.judge()
			all = append(all, d)
		}
	}
	return all
}

func (d *Difference) judge() {
	apart := math.Abs(d.A.Value - d.B.Value)
	allowed := coverage * math.Hypot(d.A.Uncertainty, d.B.Uncertainty)
	switch written := 1e-4 * math.Max(math.Abs(d.A.Value), math.Abs(d.B.Value)); {
	case d.A.Known != d.B.Known:
		d.Verdict = Single
	case apart <= math.Max(allowed, written): // the file has five digits
		d.Verdict = Same
	case allowed == 0:
		d.Verdict = Untold
	default:
		d.Verdict = Moved
	}
}

// WriteComparison lays two governor files side by side for a person.
func WriteComparison(w io.Writer, a, b *Model) error {
	t := &strings.Builder{}
	for i, m := range []*Model{a, b} {
		t.WriteString(words.Hang(fmt.Sprintf("%c  ", 'A'+i), m.provenance()))
	}
	fmt.Fprintf(t, "\n  %-24s %16s %16s   %s\n", "", "A", "B", "")
	moved := 0
	for _, d := range Compare(a, b) {
		fmt.Fprintf(t, "  %-24s %16s %16s   %s\n", d.A.Name(), d.A.shown(), d.B.shown(), d.Verdict)
		if d.Verdict == Moved {
			moved++
		}
	}
	for _, fact := range []struct{ name, a, b string }{
		{"wind up", a.Law.WindUp, b.Law.WindUp}, {"on pickup loss", a.Faults.OnLoss, b.Faults.OnLoss}, {"on stick loss", a.Faults.OnStick, b.Faults.OnStick},
	} {
		if fact.a != fact.b && fact.a != "" && fact.b != "" {
			fmt.Fprintf(t, "  %-24s %16s %16s   %s\n", fact.name, fact.a, fact.b, Moved)
			moved++
		}
	}
	switch moved {
	case 0:
		t.WriteString("\nNothing differs by more than the values are uncertain by.\n")
	case 1:
		t.WriteString("\nOne value differs by more than it is uncertain by.\n")
	default:
		fmt.Fprintf(t, "\n%d values differ by more than they are uncertain by.\n", moved)
	}
	_, err := io.WriteString(w, t.String())
	return err
}

// provenance is where a file comes from, in words.
func (m *Model) provenance() string {
	text := m.Name
	if m.Machine != "" {
		text += ", measured on " + m.Machine
	}
	if m.Date != "" {
		text += ", " + m.Date
	}
	if m.Bench != "" && m.Bench != "hardware" {
		text += " (" + m.Bench + ": no real governor)"
	}
	return text
}

// shown is the value with as many digits as a person needs.
func (e *Entry) shown() string {
	if !e.Known {
		return "–"
	}
	return e.Text(e.Value, 4)
}
