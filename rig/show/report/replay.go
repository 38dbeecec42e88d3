package report

import (
	"fmt"
	"io"
	"strings"

	"govrig/rig/record/replay"
	"govrig/rig/runlog"
	"govrig/sim/words"
)

// Replay writes what came of a replay; tool is the version of today.
func Replay(w io.Writer, rec *runlog.Record, r *replay.Report, tool string) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n\n", runlog.Provenance(rec.Info.Virtual, rec.Info.Subject))
	fmt.Fprintf(&b, "replay of %s: %s, %s\n", rec.Name(), rec.Info.Procedure, rec.Info.Machine)
	fmt.Fprintf(&b, "recorded by govrig %s, replayed by %s\n\n", rec.Info.Tool, tool)
	fmt.Fprintf(&b, "%d frames from the board; %d messages to it the same, byte for byte\n", r.Frames, r.Sent)
	switch {
	case r.Difference != nil:
		b.WriteString(words.Indent("The first difference: ", r.Difference.Error()))
		b.WriteString("Measures were not compared.\n")
	case r.Cut:
		b.WriteString("The record ends before the run did; there are no measures to compare.\n")
	default:
		fmt.Fprintf(&b, "%d measures compared with those stored\n", r.Measures)
	}
	for _, what := range r.Other {
		b.WriteString(words.Indent("differs: ", what))
	}
	if r.Same() {
		b.WriteString("Nothing differs.\n")
	}
	_, err := io.WriteString(w, b.String())
	return err
}
