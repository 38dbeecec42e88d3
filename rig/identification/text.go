package identification

import (
	"fmt"
	"io"
	"strings"

	"govrig/sim/words"
)

// WriteText lays the result out for a person.
func (r *Result) WriteText(w io.Writer) error {
	t := &strings.Builder{}
	if r.Virtual {
		t.WriteString("VIRTUAL: of a simulated governor; it says nothing of a real one.\n\n")
	}
	fmt.Fprintf(t, "%s\n\nWHAT KIND OF GOVERNOR IT IS\n", r.Machine)
	t.WriteString(words.Hang("  ", r.Kind))
	for _, doubt := range r.Doubts {
		t.WriteString(words.Hang("  - ", sentence(doubt)))
	}
	if len(r.Unsafe) > 0 {
		t.WriteString(words.Hang("  - ", r.Model.Notes))
	}
	r.values(t)
	r.proofText(t)
	if len(r.Missing) > 0 {
		t.WriteString("\nTO KNOW MORE\n")
		for _, m := range r.Missing {
			t.WriteString(words.Hang("  - ", sentence(m)))
		}
	}
	if r.Believed() {
		t.WriteString("\nWHAT IT WILL DO ON ANOTHER MACHINE\n")
		t.WriteString(words.Hang("  ", "govrig predict and every virtual run take the file with --governor; govrig plan says which gain to start from. A model is no governor: prove it on the bench before an engine runs."))
	}
	_, err := io.WriteString(w, t.String())
	return err
}

// sentence makes one of what was noted.
func sentence(text string) string {
	return strings.ToUpper(text[:1]) + text[1:] + "."
}

// values lists what is known.
func (r *Result) values(t *strings.Builder) {
	t.WriteString("\nWHAT IS KNOWN OF IT\n")
	for _, e := range r.Model.Entries() {
		if !e.Known {
			continue
		}
		uncertainty := ""
		if e.Uncertainty > 0 {
			uncertainty = "± " + e.Text(e.Uncertainty, 2)
		}
		fmt.Fprintf(t, "  %-28s %14s  %-15s %s\n", e.Name(), e.Text(e.Value, 4), uncertainty, e.Run)
	}
	if r.Believed() {
		f := r.Model.Fit
		t.WriteString(words.Hang("  ", fmt.Sprintf("The law is off by %.2g %% on the whole, and by %.2g %% at one of %d lines.", 100*f.Residual, 100*f.Worst, f.Lines)))
		if out := r.Fit.LeftOut; out > 0 {
			t.WriteString(words.Hang("  ", fmt.Sprintf("%d more were left out, as far off what those agree on: at them something else sways.", out)))
		}
	}
}

// proofText lays the predicted load steps beside the measured ones.
func (r *Result) proofText(t *strings.Builder) {
	if len(r.Proof) == 0 {
		return
	}
	t.WriteString("\nPROOF: THE LOAD STEP\n")
	fmt.Fprintf(t, "  %-16s %10s %10s %12s %12s\n", "", "dip", "predicted", "recovery", "predicted")
	for _, s := range r.Proof {
		fmt.Fprintf(t, "  %-16s %8.2f %% %8.2f %% %10.2f s %10.2f s\n", s.Setting, s.Measured.Deviation, s.Predicted.Deviation, s.Measured.Recovery, s.Predicted.Recovery)
	}
	if len(r.Differs) == 0 {
		t.WriteString(words.Hang("  ", "They agree within what both are uncertain by."))
	}
	for _, d := range r.Differs {
		t.WriteString(words.Hang("  - ", sentence(d)))
	}
}
