package commission

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"govrig/rig/measure"
	"govrig/rig/runlog"
	"govrig/sim/words"
)

// WriteText writes the page for a person: the verdict and its reasons first.
func (s *State) WriteText(w io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n\n%s\n\n%s\n", runlog.Provenance(s.anyVirtual(), ""), s.Machine, strings.ToUpper(string(s.Verdict)))
	for _, reason := range s.Reasons {
		b.WriteString(words.Indent("  - ", reason))
	}
	fmt.Fprintf(&b, "\n  %-10s %s\n", "step", "outcome")
	for _, step := range s.Steps {
		first := fmt.Sprintf("  %-10s %-8s ", step.Name, step.Word())
		b.WriteString(words.Hang(first, strings.TrimSuffix(step.title()+": "+step.Line(), ": ")))
	}
	b.WriteString("\n")
	for _, step := range s.Steps {
		for _, next := range step.Next {
			b.WriteString(words.Indent("next, "+step.title()+": ", next))
		}
	}
	if s.Verdict == Go {
		b.WriteString(words.Indent("", "Go means that the governor did on the bench what the machine file asks. It says nothing about the engine, the airframe or the day: follow the makers' manuals, your club's code and your country's rules, stand clear of the blade plane, and keep an engine cut that does not go through the governor."))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// anyVirtual reports whether any step was done without hardware.
func (s *State) anyVirtual() bool {
	return s.Virtual || slices.ContainsFunc(s.Steps, func(step Step) bool { return step.Virtual })
}

// Word is what a step has come to.
func (s Step) Word() string {
	switch {
	case s.Stale.Any() && s.Outcome != measure.Fail:
		return "again"
	case s.Skipped != "":
		return "left out"
	case s.Outcome == "":
		return "to do"
	case s.Outcome == measure.NotRun:
		return "not run"
	}
	return string(s.Outcome)
}

// Line is the one thing most worth knowing about a step.
func (s Step) Line() string {
	switch {
	case s.Stale.Any() && s.Outcome != measure.Fail:
		return "to be done" + s.again()
	case s.Skipped != "":
		return s.Skipped
	case s.Danger != "":
		return s.Danger
	case len(s.Missed) > 0:
		return strings.Join(s.Missed, "; ")
	case len(s.Found) > 0:
		return s.Found[0]
	}
	return ""
}
