package gallery

import (
	"fmt"
	"io"
	"strings"

	"govrig/rig/measure"
)

func valueOf(m *measure.Measure) string {
	if m.Value == nil {
		return "no value"
	}
	return fmt.Sprintf("%.4g %s", *m.Value, m.Unit)
}

// describe writes all that a run came to, and what is wrong with it.
func describe(w io.Writer, s *seen, why []string) {
	verdict := "right"
	if len(why) > 0 {
		verdict = "WRONG: " + strings.Join(why, "; ")
	}
	fmt.Fprintf(w, "\n### %s × %s: %s: %s\n\n", s.Member, s.Procedure, s.Outcome, verdict)
	for _, list := range []struct {
		title string
		lines []string
	}{{"missed", s.Missed}, {"found", s.Found}, {"next", s.Next}, {"note", s.Warnings}} {
		for _, line := range list.lines {
			fmt.Fprintf(w, "- %s: %s\n", list.title, strings.ReplaceAll(line, "\n", " "))
		}
	}
}
