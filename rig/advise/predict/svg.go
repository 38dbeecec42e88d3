package predict

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"math"
)

// Sizes of the drawing, px.
const (
	cellW, cellH = 46, 28
	labelW       = 64 // integral times, left of a panel
	panelGap     = 36
	panelHead    = 52 // above a panel's cells
	panelFoot    = 44 // below them
	margin       = 24
	titleH       = 56
	legendH      = 120
	leastPanelW  = 380 // for its title
)

const (
	ink  = "#222b36"
	pale = "#6b7683"
)

type drawing struct{ bytes.Buffer }

func (d *drawing) add(format string, args ...any) { fmt.Fprintf(d, format+"\n", args...) }

// text writes s at a place; attributes come on top of the usual ones.
func (d *drawing) text(x, y float64, attributes, s string) {
	d.WriteString(fmt.Sprintf(`<text x="%g" y="%g" %s>`, x, y, attributes))
	_ = xml.EscapeText(d, []byte(s)) // a bytes.Buffer takes everything
	d.WriteString("</text>\n")
}

// WriteSVG draws two heat maps for each case, recovery time and dip. Shade goes
// with rank among the good cells; what hunts is hatched, so that nothing rests
// on colour. The error is that of the writer.
func (p *Prediction) WriteSVG(w io.Writer) error {
	panelW := max(leastPanelW, float64(labelW+cellW*len(p.Gains)))
	panelH := float64(panelHead + cellH*len(p.Times) + panelFoot)
	width := 2*margin + 2*panelW + panelGap
	height := titleH + panelH*float64(p.drawn()) + legendH
	d := &drawing{}
	d.add(`<svg xmlns="http://www.w3.org/2000/svg" width="%g" height="%g" viewBox="0 0 %g %g" font-family="Liberation Sans,Arial,Helvetica,sans-serif" font-size="12" fill="%s">`, width, height, width, height, ink)
	d.add(`<defs><pattern id="hatch" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="7" height="7" fill="#fff"/><rect width="2.4" height="7" fill="#d97a1e"/></pattern></defs>`)
	d.add(`<rect width="100%%" height="100%%" fill="#fff"/>`)
	d.text(margin, 28, `font-size="16" font-weight="bold"`, fmt.Sprintf("Load step predicted: %s, %q", p.Machine, p.Speed))
	d.text(margin, 47, `fill="`+pale+`"`, fmt.Sprintf("Simulated engine and governor, nothing measured. %.0f rpm at the head, collective %.1f° to %.1f° in %.0f ms.",
		p.WantedHeadRPM, p.Load.LowDeg, p.Load.HighDeg, 1000*p.Load.Ramp))
	y := float64(titleH)
	for i := range p.Cases {
		c := &p.Cases[i]
		if c.Problem != "" {
			continue
		}
		p.panel(d, c, margin, y, c.Name+": recovery time, s", recovery)
		p.panel(d, c, margin+panelW+panelGap, y, c.Name+": dip, %", dip)
		y += panelH
	}
	drawLegend(d, y+16)
	d.add("</svg>")
	_, err := w.Write(d.Bytes())
	return err
}

// drawn is how many cases have a grid.
func (p *Prediction) drawn() (n int) {
	for _, c := range p.Cases {
		if c.Problem == "" {
			n++
		}
	}
	return n
}

func (p *Prediction) panel(d *drawing, c *Case, x, y float64, title string, of shown) {
	left, top := x+labelW, y+panelHead
	d.text(left, y+22, `font-size="13" font-weight="bold"`, title)
	d.text(x, top-8, `font-size="11" fill="`+pale+`"`, "time, s")
	q := newQuarters(c.Cells, of)
	for row, time := range p.Times {
		cy := top + float64(cellH*row)
		d.text(left-8, cy+cellH/2+4, `text-anchor="end"`, fmt.Sprintf("%.3g", time))
		for col := range p.Gains {
			cell := &c.Cells[row*len(p.Gains)+col]
			v, ok := of(cell)
			d.cell(left+float64(cellW*col), cy, cell, v, ok, q)
		}
	}
	bottom := top + float64(cellH*len(p.Times))
	for col, gain := range p.Gains {
		d.text(left+cellW*(float64(col)+0.5), bottom+16, `text-anchor="middle" font-size="11"`, fmt.Sprintf("%.3g", gain))
	}
	d.text(left, bottom+34, `font-size="11" fill="`+pale+`"`, "gain, % of throttle travel per 1000 rpm of the engine")
	p.outline(d, c.Own, left, top, `stroke-width="2" stroke-dasharray="4 3"`)
	p.outline(d, c.Best, left, top, `stroke-width="3"`)
}

// cell draws one cell with its number or its outcome.
func (d *drawing) cell(x, y float64, c *Cell, v float64, ok bool, q quarters) {
	fill, pen, words := "#fff", pale, string(c.Outcome)
	switch {
	case c.Outcome == Hunts:
		fill = "url(#hatch)"
	case c.Outcome != Holds:
		fill = "#e4e7eb"
	case ok && c.Good():
		fill, pen = shade(q.rank(v))
	}
	if ok {
		words = fmt.Sprintf("%.2f", v)
	}
	d.add(`<rect x="%g" y="%g" width="%d" height="%d" fill="%s" stroke="#c3cad2" stroke-width="0.5"/>`, x, y, cellW, cellH, fill)
	if c.Outcome == Hunts {
		d.add(`<rect x="%g" y="%g" width="34" height="14" rx="3" fill="#fff"/>`, x+(cellW-34)/2, y+(cellH-14)/2)
		pen = ink
	}
	d.text(x+cellW/2, y+cellH/2+4, `text-anchor="middle" font-size="11" fill="`+pen+`"`, words)
}

// rank is the place of a value among the good ones, 0 the least to 1.
func (q quarters) rank(v float64) float64 {
	below := 0
	for _, other := range q {
		if other < v {
			below++
		}
	}
	return float64(below) / math.Max(1, float64(len(q)-1))
}

// shade goes from dark to light with rank; pen is what reads on it.
func shade(rank float64) (fill, pen string) {
	dark, light := [3]float64{0x0b, 0x3c, 0x6f}, [3]float64{0xd3, 0xe3, 0xf3}
	var c [3]int
	for i := range c {
		c[i] = int(math.Round(dark[i] + (light[i]-dark[i])*rank))
	}
	pen = ink
	if rank < 0.42 {
		pen = "#fff"
	}
	return fmt.Sprintf("#%02x%02x%02x", c[0], c[1], c[2]), pen
}

// outline frames the cell with an index, if there is one.
func (p *Prediction) outline(d *drawing, index int, left, top float64, stroke string) {
	if index < 0 {
		return
	}
	col, row := index%len(p.Gains), index/len(p.Gains)
	d.add(`<rect x="%g" y="%g" width="%d" height="%d" fill="none" stroke="#d4145a" %s/>`,
		left+float64(cellW*col), top+float64(cellH*row), cellW, cellH, stroke)
}

// drawLegend explains the marks, in two rows.
func drawLegend(d *drawing, y float64) {
	v := 0.31
	entries := []struct {
		words string
		cell  Cell
		frame string
	}{
		{"meets limits and margins; the darker the better", Cell{Outcome: Holds}, ""},
		{"comes back, but misses a limit or a margin", Cell{Outcome: Holds, Misses: []string{""}}, ""},
		{"keeps swinging", Cell{Outcome: Hunts}, ""},
		{"not back in time", Cell{Outcome: NotBack}, ""},
		{"best", Cell{Outcome: Holds}, `stroke-width="3"`},
		{"as in the machine file", Cell{Outcome: Holds}, `stroke-width="2" stroke-dasharray="4 3"`},
	}
	for i, e := range entries {
		x, cy := margin+float64(i%2)*360, y+float64(i/2)*(cellH+3)
		d.cell(x, cy, &e.cell, v, e.cell.Outcome == Holds, quarters{v})
		if e.frame != "" {
			d.add(`<rect x="%g" y="%g" width="%d" height="%d" fill="none" stroke="#d4145a" %s/>`, x, cy, cellW, cellH, e.frame)
		}
		d.text(x+cellW+10, cy+cellH/2+4, "", e.words)
	}
}
