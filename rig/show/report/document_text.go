package report

import (
	"fmt"
	"io"
	"strings"

	"govrig/rig/identification"
	"govrig/rig/measure"
	"govrig/rig/record/replay"
	"govrig/sim/words"
)

// Text writes the document for a person without a browser: the verdict, and
// then each run as Recorded does.
func (d *Document) Text(w io.Writer) error {
	if err := d.honest(); err != nil {
		return err
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n\n%s\n", d.Provenance(), strings.ToUpper(d.Verdict))
	for _, reason := range d.Reasons {
		b.WriteString(words.Indent("  - ", reason))
	}
	if d.Governor != nil {
		b.WriteString("\n")
		if err := d.Governor.WriteText(&b); err != nil {
			return err
		}
	}
	for _, r := range d.runs {
		run, m, err := replay.Load(r.rec)
		if err != nil {
			return err
		}
		fmt.Fprintf(&b, "\n%s\n", strings.Repeat("=", words.Columns))
		if err := Recorded(&b, r.rec, m, run); err != nil {
			return err
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// documentSchema is the version of the JSON document.
const documentSchema = "govrig/report/1"

// reportedRun is one run in the JSON document.
type reportedRun struct {
	Run       string         `json:"run"`
	Started   string         `json:"started"`
	Procedure string         `json:"procedure"`
	Speed     string         `json:"speed"`
	Virtual   bool           `json:"virtual"`
	Board     string         `json:"board"`
	Ended     string         `json:"ended"`
	Found     []string       `json:"found"`
	Next      []string       `json:"next"`
	Result    measure.Result `json:"result"`
}

// JSON writes the document for a program.
func (d *Document) JSON(w io.Writer) error {
	if err := d.honest(); err != nil {
		return err
	}
	doc := struct {
		Schema  string        `json:"schema"`
		Machine string        `json:"machine"`
		Virtual bool          `json:"virtual"`
		Verdict string        `json:"verdict"`
		Reasons []string      `json:"reasons"`
		Runs    []reportedRun `json:"runs"`
		// Governor is missing where nothing tells what it is.
		Governor *identification.Result `json:"governor,omitempty"`
	}{Schema: documentSchema, Virtual: d.Virtual, Verdict: d.Verdict, Reasons: list(d.Reasons), Governor: d.Governor}
	if d.machine != nil {
		doc.Machine = d.machine.Name
	}
	for _, r := range d.runs {
		i := &r.rec.Info
		result := r.run.Result
		if result.Measures == nil { // the run was cut off
			result.Schema, result.Outcome = measure.Schema, measure.NotRun
			result.Measures, result.Warnings = []measure.Measure{}, []string{}
		}
		doc.Runs = append(doc.Runs, reportedRun{
			Run: r.rec.Name(), Started: i.Started, Procedure: i.Procedure, Speed: i.Speed, Virtual: i.Virtual, Board: i.Board,
			Ended: r.rec.Ended(), Found: list(r.run.Found), Next: list(r.run.Next), Result: result,
		})
	}
	return words.JSON(w, doc)
}

// list is never null in JSON.
func list(lines []string) []string {
	if lines == nil {
		return []string{}
	}
	return lines
}
