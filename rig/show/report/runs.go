package report

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"govrig/protocol/harmless"
	"govrig/rig/runlog"
	"govrig/sim/words"
)

// Runs lists records, one a line.
func Runs(w io.Writer, runs []runlog.Summary) error {
	var b strings.Builder
	virtual := 0
	for i := range runs {
		if runs[i].Virtual {
			virtual++
		}
	}
	if virtual > 0 {
		fmt.Fprintf(&b, "VIRTUAL: %d of %d runs, marked v, had no hardware. They prove nothing about a real governor.\n\n",
			virtual, len(runs))
	}
	row := func(mark, name, machine, setting, length, ended string) {
		line := fmt.Sprintf("%1s %s %s %s %s  %s", mark, words.Right(name, 34), words.Right(machine, 28), words.Right(setting, 12), words.Left(length, 8), ended)
		b.WriteString(strings.TrimRight(line, " ") + "\n")
	}
	row("", "run", "machine", "setting", "length", "ended")
	for i := range runs {
		r := &runs[i]
		mark, length, ended := "", fmt.Sprintf("%.1f s", r.Length), r.Ended
		switch {
		case r.Virtual:
			mark = "v"
		case r.Ended == runlog.Damaged:
			length = "?"
		}
		if r.Short {
			ended += "*"
		}
		row(mark, harmless.Line(r.Run), shortened(r.Machine, 28), shortened(r.Speed, 12), length, ended)
	}
	if slices.ContainsFunc(runs, func(r runlog.Summary) bool { return r.Short }) {
		b.WriteString("\n* the record ends before the run did; show says why\n")
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// shortened cuts text to a width.
func shortened(text string, width int) string {
	runes := []rune(text)
	if len(runes) <= width {
		return text
	}
	return string(runes[:width-1]) + "…"
}
