package predict

import (
	"fmt"
	"io"

	"govrig/rig/pen"
)

// Sizes of the drawing, px.
const (
	cellW, cellH = 50.0, 28.0
	labelW       = 64.0 // integral times, left of a panel
	panelGap     = 36.0
	panelHead    = 52.0 // above a panel's cells
	panelFoot    = 44.0 // below them
	margin       = 12.0
	titleH       = 44.0
	legendH      = 150.0
	leastPanelW  = 380.0 // for its title
	mostPanelW   = 520.0 // of two beside one another
)

// WriteSVG draws two heat maps for each case, recovery time and dip. The good
// cells are shaded by quarters; what hunts is hatched, so that nothing rests on
// colour. The error is that of the writer.
func (p *Prediction) WriteSVG(w io.Writer) error {
	panelW := max(leastPanelW, labelW+cellW*float64(len(p.Gains)))
	panelH := panelHead + cellH*float64(len(p.Times)) + panelFoot
	title := fmt.Sprintf("Load step predicted: %s, %q", p.Machine, p.Speed)
	about := fmt.Sprintf("Simulated engine and governor, nothing measured. %.0f rpm at the head, collective %.1f° to %.1f° in %.0f ms.",
		p.WantedHeadRPM, p.Load.LowDeg, p.Load.HighDeg, 1000*p.Load.Ramp)
	maps := p.maps()
	across, width := 1, max(2*leastPanelW, 2*margin+panelW)
	if panelW <= mostPanelW {
		across, width = 2, 2*margin+2*panelW+panelGap
	}
	down := (len(maps) + across - 1) / across
	m := &heat{pen.New(width, titleH+panelH*float64(down)+legendH, title, about)}
	m.Heading(margin, 16, title)
	m.Text("faint", margin, 35, about)
	for i, of := range maps {
		p.panel(m, of, margin+float64(i%across)*(panelW+panelGap), titleH+float64(i/across)*panelH)
	}
	m.legend(titleH + float64(down)*panelH + 16)
	return m.WriteSVG(w, 1)
}

// mapped is one measure of a case.
type mapped struct {
	*Case
	title string
	of    shown
}

// maps are the two measures of each case that has a grid.
func (p *Prediction) maps() (all []mapped) {
	for i := range p.Cases {
		if c := &p.Cases[i]; c.Problem == "" {
			all = append(all, mapped{c, c.Name + ": recovery time, s", recovery}, mapped{c, c.Name + ": dip, %", dip})
		}
	}
	return all
}

// panel draws the grid of one measure, its upper left corner at x, y.
func (p *Prediction) panel(m *heat, c mapped, x, y float64) {
	left, top := x+labelW, y+panelHead
	at := func(index int) (float64, float64) {
		return left + cellW*float64(index%len(p.Gains)), top + cellH*float64(index/len(p.Gains))
	}
	m.Text("caption", left, y+22, c.title)
	m.Text("faint", x, top-8, "time, s")
	for row, time := range p.Times {
		m.Text("in end", left-8, top+cellH*(float64(row)+0.5)+4, fmt.Sprintf("%.3g", time))
	}
	q := newQuarters(c.Cells, c.of)
	for i := range c.Cells {
		x, y := at(i)
		m.cell(x, y, &c.Cells[i], c.of, q)
	}
	bottom := top + cellH*float64(len(p.Times))
	for col, gain := range p.Gains {
		m.Text("in middle", left+cellW*(float64(col)+0.5), bottom+16, fmt.Sprintf("%.3g", gain))
	}
	m.Text("faint", left, bottom+34, "gain, % of throttle travel per 1000 rpm of the engine")
	if c.Own >= 0 {
		x, y = at(c.Own)
		m.frame("frame dashed", x, y)
	}
	if c.Best >= 0 {
		x, y = at(c.Best)
		m.frame("frame", x, y)
	}
}
