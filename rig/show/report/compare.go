package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"govrig/rig/execution"
	"govrig/rig/record/compare"
	"govrig/rig/record/replay"
	"govrig/rig/runlog"
	"govrig/sim/words"
)

// MostCompared is how many runs a comparison has room for.
const MostCompared = 5

// CompareRuns reads runs and writes them beside each other; known are the runs
// that tell how much a measure scatters. Errors are those of the records.
func CompareRuns(w io.Writer, runs, known []*runlog.Record) error {
	var traces []*execution.Course
	for _, rec := range runs {
		r, _, err := replay.Load(rec)
		if err != nil {
			return err
		}
		traces = append(traces, &r.Course)
	}
	table, err := compare.New(runs, known)
	if err != nil {
		return err
	}
	return Compare(w, table, traces)
}

// Compare writes a comparison for a person. traces are those of the runs, in
// order.
func Compare(w io.Writer, t *compare.Table, traces []*execution.Course) error {
	var b strings.Builder
	virtual := slices.ContainsFunc(t.Runs, func(r *runlog.Record) bool { return r.Info.Virtual })
	fmt.Fprintf(&b, "%s\n\n", runlog.Provenance(virtual, t.Runs[0].Info.Subject))
	for i, r := range t.Runs {
		fmt.Fprintf(&b, "%s  %s %s %s\n", compare.Letter(i), words.Right(r.Name(), 34), words.Right(shortened(r.Info.Machine, 28), 28), r.Info.Speed)
	}
	b.WriteString("\n")
	for _, what := range t.Unlike {
		b.WriteString(words.Indent("", what))
	}
	if len(t.Unlike) > 0 {
		b.WriteString("\n")
	}
	overlay(&b, traces)
	changes(&b, t)
	b.WriteString(words.Indent("", scatterWords(t)))
	_, err := io.WriteString(w, b.String())
	return err
}

// changes is the table of measures. Of two runs it shows the change and from
// how much on it counts; of more it marks what counts.
func changes(b *strings.Builder, t *compare.Table) {
	line := fmt.Sprintf("  %-30s %-4s", "measure", "")
	for i := range t.Runs {
		line += words.Left(compare.Letter(i), 11)
	}
	two := len(t.Runs) == 2
	if two {
		line += words.Left("change", 11) + words.Left("counts from", 13)
	}
	b.WriteString(line + "\n")
	for _, row := range t.Rows {
		unit := row.Unit
		if unit == "1" {
			unit = ""
		}
		line := fmt.Sprintf("  %s %-4s", words.Right(middle(row.Name, 30), 30), unit)
		for i, v := range row.Values {
			line += words.Left(cell(v, row.Verdicts[i], two), 11)
		}
		if two {
			line += pair(&row)
		}
		b.WriteString(strings.TrimRight(line, " ") + "\n")
	}
	b.WriteString("\n")
}

// middle leaves out the middle of a text that is wider than width.
func middle(text string, width int) string {
	runes := []rune(text)
	if len(runes) <= width {
		return text
	}
	tail := width / 2
	return string(runes[:width-tail-1]) + "…" + string(runes[len(runes)-tail:])
}

// cell is a value; in a wide table marked with * where it has changed and with
// ? where that cannot be told.
func cell(v *float64, verdict compare.Verdict, plain bool) string {
	if v == nil {
		return "-"
	}
	mark := map[compare.Verdict]string{compare.Changed: "*", compare.Unknown: "?"}[verdict]
	if plain {
		mark = ""
	}
	return words.Number(*v) + mark
}

// pair is the change between two runs.
func pair(row *compare.Row) string {
	verdict := row.Verdicts[1]
	if verdict == compare.Missing {
		return words.Left("", 24) + "  " + string(verdict)
	}
	change, from := "0", "-"
	if c := row.Change(1); c != 0 {
		change = words.Number(c)
		if c > 0 {
			change = "+" + change
		}
	}
	if limit, ok := row.Scatter.Limit(); ok {
		from = words.Number(limit)
	}
	word := string(verdict)
	if verdict == compare.Within && change == "0" {
		word = "the same"
	}
	return words.Left(change, 11) + words.Left(from, 13) + "  " + word
}

// scatterWords says where the scatter comes from and what it means.
func scatterWords(t *compare.Table) string {
	if t.Repeats <= t.Sets {
		return "How much these measures vary from run to run is not known: no two whole runs like these are alike. " +
			"Run the same again, better twice, and compare once more."
	}
	text := fmt.Sprintf("Scatter is that of %d runs alike in machine file, options, setting and board", t.Repeats)
	if t.Sets > 1 {
		text += fmt.Sprintf(", in %d sets", t.Sets)
	}
	text += ". A change counts from the difference on that two runs made alike exceed once in twenty times. " +
		"A knob turned between two of those runs makes the scatter look larger than it is."
	if !slices.ContainsFunc(t.Rows, func(r compare.Row) bool { return r.Scatter.SD > 0 }) {
		text += " They are equal to the last digit, so any change counts."
	}
	if len(t.Runs) > 2 {
		text += " * has changed from A; ? cannot be told."
	}
	return text
}

const overlayHeight = 12

// overlay draws the head speeds one above the other, each with the letter of
// its run, and * where they meet, from the steady phase on.
func overlay(b *strings.Builder, traces []*execution.Course) {
	span, least, greatest := 0.0, math.Inf(1), math.Inf(-1)
	for _, t := range traces {
		from := from(t)
		for _, v := range t.Head[from:] {
			least, greatest = math.Min(least, v), math.Max(greatest, v)
		}
		if n := len(t.Time); n > from {
			span = math.Max(span, t.Time[n-1]-t.Time[from])
		}
	}
	if !(greatest > 0) || span == 0 {
		return
	}
	greatest = math.Max(greatest, least+1)
	grid := make([][]rune, overlayHeight)
	for i := range grid {
		grid[i] = []rune(strings.Repeat(" ", chartWidth))
	}
	for i, t := range traces {
		plot(grid, []rune(compare.Letter(i))[0], t, span, least, greatest)
	}
	b.WriteString("  head speed, rpm; the letter of the run, * where several meet\n")
	for i, line := range grid {
		label := greatest - (greatest-least)*float64(i)/(overlayHeight-1)
		fmt.Fprintf(b, "  %6.0f |%s\n", label, strings.TrimRight(string(line), " "))
	}
	first := traces[0]
	if columns := columnsOf(first, span); columns > 0 {
		b.WriteString("         " + ruler(first, from(first), columns) + "\n")
	}
	b.WriteString("\n")
}

// columnsOf is how many columns a trace takes of a chart of the given span, s.
func columnsOf(t *execution.Course, span float64) int {
	n, from := len(t.Time), from(t)
	if n <= from {
		return 0
	}
	return min(n-from, int(math.Round(chartWidth*(t.Time[n-1]-t.Time[from])/span)))
}

// plot puts a trace into the grid.
func plot(grid [][]rune, letter rune, t *execution.Course, span, least, greatest float64) {
	columns := columnsOf(t, span)
	if columns == 0 {
		return
	}
	for c, v := range thin(t.Head[from(t):], columns) {
		row := int(math.Round((greatest - v) / (greatest - least) * (overlayHeight - 1)))
		at := &grid[row][c]
		if *at == ' ' {
			*at = letter
		} else {
			*at = '*'
		}
	}
}
