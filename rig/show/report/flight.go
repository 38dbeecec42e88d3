package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"govrig/protocol/harmless"
	"govrig/rig/advise/flight"
	"govrig/rig/measure"
	"govrig/rig/pen"
	"govrig/rig/runlog"
	"govrig/sim/words"
)

// Flight writes a load step of the bench, A, beside one of a flight, B: both curves
// in one picture, the same measures of both, and what the difference says.
func Flight(w io.Writer, rec *runlog.Record, path string, c *flight.Comparison, notes []string) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n\n", runlog.Provenance(rec.Info.Virtual, rec.Info.Subject))
	fmt.Fprintf(&b, "A  bench   %s  %s\nB  flight  %s\n\n", rec.Name(), harmless.Line(rec.Info.Machine), harmless.Line(path))
	bothCurves(&b, c)
	fmt.Fprintf(&b, "  %-34s %-5s%12s%12s\n", "measure", "", "A bench", "B flight")
	for _, row := range flightRows(c) {
		fmt.Fprintf(&b, "  %-34s %-5s%12s%12s\n", row.name, row.unit, reading(row.bench), reading(row.flight))
	}
	b.WriteString("\n")
	for _, row := range flightRows(c) {
		for i, r := range []measure.Reading{row.bench, row.flight} {
			if !r.OK() {
				b.WriteString(words.Indent("", fmt.Sprintf("%s, %s: not told: %s.", [...]string{"bench", "flight"}[i], row.name, r.Why)))
			}
		}
	}
	for _, says := range c.Says {
		b.WriteString(words.Indent("", says))
	}
	b.WriteString("\n")
	for _, note := range notes {
		b.WriteString(words.Indent("", "Note: "+note))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

type flightRow struct {
	name, unit    string
	bench, flight measure.Reading
}

func flightRows(c *flight.Comparison) []flightRow {
	a, b := c.Bench, c.Flight
	return []flightRow{
		{"head speed before", "rpm", a.Before, b.Before},
		{"dip or rise, of the wanted speed", "%", a.Deviation, b.Deviation},
		{"slope at first", "%/s", a.Slope, b.Slope},
		{"deepest after", "s", a.Extreme, b.Extreme},
		{"recovery time", "s", a.Recovery, b.Recovery},
		{"swing past the new speed", "%", a.Overswing, b.Overswing},
	}
}

func reading(r measure.Reading) string {
	if !r.OK() {
		return "-"
	}
	return words.Number(r.Value)
}

// flightFrom and flightTo are what is drawn, s from the load change.
const flightFrom, flightTo = -1.0, 8.0

// bothCurves draws both speeds, each from its own speed before, by the letters A
// and B, and * where they meet.
func bothCurves(b *strings.Builder, c *flight.Comparison) {
	a, flown := offSpeed(c.Bench), offSpeed(c.Flight)
	least, most, ok := pen.Extent([]pen.Curve{{X: a.T, Y: a.Y}, {X: flown.T, Y: flown.Y}})
	if !ok || most <= least {
		return
	}
	grid := make([][]rune, overlayHeight)
	for i := range grid {
		grid[i] = []rune(strings.Repeat(" ", chartWidth))
	}
	for i, s := range []measure.Series{a, flown} {
		letter := rune('A' + i)
		for k, t := range s.T {
			column := min(chartWidth-1, int((t-flightFrom)/(flightTo-flightFrom)*chartWidth))
			at := &grid[int(math.Round((most-s.Y[k])/(most-least)*(overlayHeight-1)))][column]
			if *at == ' ' {
				*at = letter
			} else if *at != letter {
				*at = '*'
			}
		}
	}
	b.WriteString("  head speed, % off the speed before; A bench, B flight, * where they meet\n")
	for i, line := range grid {
		fmt.Fprintf(b, "  %6.1f |%s\n", most-(most-least)*float64(i)/(overlayHeight-1), strings.TrimRight(string(line), " "))
	}
	axis := []byte(strings.Repeat(" ", chartWidth+4))
	for t := flightFrom; t < flightTo; t++ {
		copy(axis[int((t-flightFrom)/(flightTo-flightFrom)*chartWidth):], fmt.Sprintf("%g", t))
	}
	fmt.Fprintf(b, "          %s\n          seconds from the load change\n\n", strings.TrimRight(string(axis), " "))
}

// offSpeed is a side's speed over the time drawn, % off its speed before.
func offSpeed(s flight.Side) measure.Series {
	part := s.Speed.Between(flightFrom, flightTo)
	out := measure.Series{T: part.T, Y: make([]float64, part.Len())}
	before := s.Before.Value
	if !s.Before.OK() {
		before = s.Speed.Between(-2, 0).Mean()
	}
	for i, y := range part.Y {
		out.Y[i] = 100 * (y/before - 1)
	}
	return out
}

// FlightSVG draws the same picture as a file.
func FlightSVG(w io.Writer, c *flight.Comparison) error {
	a, b := offSpeed(c.Bench), offSpeed(c.Flight)
	curves := []pen.Curve{{X: a.T, Y: a.Y, Stroke: pen.First}, {X: b.T, Y: b.Y, Stroke: pen.Second}}
	low, high, _ := pen.Extent(curves)
	room := 0.05*(high-low) + 0.1
	f := pen.Figure{
		Title: "Head speed after a load change, bench and flight", Heading: "Load change on the bench and in flight",
		Keys:  []pen.Key{{Stroke: pen.First, Words: "bench"}, {Stroke: pen.Second, Words: "flight"}},
		Width: 640, Axis: pen.Axis{Label: "seconds from the load change", Low: flightFrom, High: flightTo},
		Panels: []pen.Panel{{Label: "head speed, % off the speed before", Height: 240, Low: low - room, High: high + room, Curves: curves}},
	}
	return f.Draw().WriteSVG(w, 1)
}
