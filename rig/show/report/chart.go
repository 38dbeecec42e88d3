package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/guptarohit/asciigraph"

	"govrig/rig/execution"
	"govrig/rig/phase"
)

const (
	chartWidth  = 86
	chartHeight = 9
)

// chart draws the head speed over time, from the steady phase on (from the
// start when there is none), with the phases and the time below it.
func chart(b *strings.Builder, t *execution.Course) {
	from := from(t)
	n := len(t.Time) - from
	if n < chartWidth || slices.Max(t.Head) == 0 { // nothing turned
		return
	}
	fmt.Fprintf(b, "  head speed, rpm; each column holds the dip or peak of %.2f s\n",
		(t.Time[len(t.Time)-1]-t.Time[from])/chartWidth)
	graph := asciigraph.Plot(thin(t.Head[from:], chartWidth), asciigraph.Height(chartHeight), asciigraph.Precision(0))
	offset := strings.IndexAny(firstLine(graph), "┤┼") // in bytes; all before it is ASCII
	for _, line := range strings.Split(graph, "\n") {
		b.WriteString("  " + strings.TrimRight(line, " ") + "\n")
	}
	b.WriteString(strings.Repeat(" ", offset+3) + ruler(t, from, chartWidth) + "\n\n")
}

// from is where the chart begins: behind the spool-up, which would press all
// else flat, or where that is all there is, at the start.
func from(t *execution.Course) int {
	for i := len(t.Phase) - 1; i >= 0; i-- {
		if t.Phases[t.Phase[i]].Kind == phase.SpoolUp {
			if i == len(t.Phase)-1 {
				return 0
			}
			return i + 1
		}
	}
	return 0
}

func firstLine(s string) string {
	line, _, _ := strings.Cut(s, "\n")
	return line
}

// thin keeps one value a column: the one farthest from the mean of the whole,
// so that no dip or peak is lost.
func thin(y []float64, columns int) []float64 {
	mean := 0.0
	for _, v := range y {
		mean += v / float64(len(y))
	}
	out := make([]float64, columns)
	for c := range out {
		from, to := c*len(y)/columns, (c+1)*len(y)/columns
		out[c] = y[from]
		for _, v := range y[from:to] {
			if math.Abs(v-mean) > math.Abs(out[c]-mean) {
				out[c] = v
			}
		}
	}
	return out
}

// ruler names the phases under the columns where they begin, with the time, as
// far as there is room before the next. The trace is that many columns wide.
func ruler(t *execution.Course, from, columns int) string {
	var starts []int // samples at which a phase of another key begins
	for i := from; i < len(t.Phase); i++ {
		if i == from || t.Phases[t.Phase[i]] != t.Phases[t.Phase[i-1]] {
			starts = append(starts, i)
		}
	}
	column := func(i int) int { return (i - from) * columns / (len(t.Time) - from) }
	line := ""
	for k, i := range starts {
		room := chartWidth + 20 - column(i)
		if k+1 < len(starts) {
			room = column(starts[k+1]) - column(i)
		}
		line += strings.Repeat(" ", column(i)-len(line)) + label(room, t.Phases[t.Phase[i]].String(), t.Time[i])
	}
	return strings.TrimRight(line, " ")
}

// label is the fullest label of a phase that leaves room for the next.
func label(room int, name string, time float64) string {
	for _, text := range []string{fmt.Sprintf("|%s, %.1f s", name, time), "|" + name, "|"} {
		if len(text) < room || text == "|" && room == 1 {
			return text
		}
	}
	return ""
}
