package report

import (
	"fmt"
	"io"
	"strings"

	"govrig/rig/measure"
	"govrig/rig/runlog"
	"govrig/sim/words"
)

// Ended is how a run ended, in one word: its outcome where it came to its end.
func Ended(r *runlog.Record) string {
	switch {
	case r.Reason() != runlog.Complete:
		return strings.ReplaceAll(r.Reason(), " ", "-")
	case r.End.Outcome == measure.NotRun:
		return "not-run"
	}
	return string(r.End.Outcome)
}

// Runs lists records, one a line.
func Runs(w io.Writer, records []*runlog.Record) error {
	var b strings.Builder
	virtual := 0
	for _, r := range records {
		if r.Info.Virtual {
			virtual++
		}
	}
	if virtual > 0 {
		fmt.Fprintf(&b, "VIRTUAL: %d of %d runs, marked v, had no hardware. They prove nothing about a real governor.\n\n",
			virtual, len(records))
	}
	row := func(mark, name, machine, setting, length, ended string) {
		line := fmt.Sprintf("%1s %s %s %s %s  %s", mark, words.Right(name, 34), words.Right(machine, 28), words.Right(setting, 12), words.Left(length, 8), ended)
		b.WriteString(strings.TrimRight(line, " ") + "\n")
	}
	row("", "run", "machine", "setting", "length", "ended")
	for _, r := range records {
		mark, length := "", "?"
		if r.Info.Virtual {
			mark = "v"
		}
		if s, err := r.Length(); err == nil {
			length = fmt.Sprintf("%.1f s", s)
		}
		row(mark, r.Name(), shortened(r.Info.Machine, 28), shortened(r.Info.Speed, 12), length, Ended(r))
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
