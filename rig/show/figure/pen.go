package figure

import (
	"fmt"
	"html/template"
	"image/color"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Pen is how a line looks.
type Pen int

// The pens. First to Third are for curves, Wanted for what a curve should be,
// Limit for what it must not pass.
const (
	First Pen = iota
	Second
	Third
	Wanted
	Limit
	Event
	ink
	pale
	grid
)

// pens in the order of their names: CSS variable, width in pt, dashes in pt.
var pens = [...]struct {
	variable string
	width    vg.Length
	dashes   []vg.Length
}{
	First:  {"--first", 1.4, nil},
	Second: {"--second", 1.3, []vg.Length{4.5, 2}},
	Third:  {"--third", 1.3, []vg.Length{1.2, 1.8}},
	Wanted: {"--ink", 0.7, []vg.Length{7, 2, 1.5, 2}},
	Limit:  {"--limit", 0.9, nil},
	Event:  {"--ink", 0.7, []vg.Length{2, 2}},
	ink:    {"--ink", 0.8, nil},
	pale:   {"--pale", 0.7, nil},
	grid:   {"--grid", 0.6, nil},
}

// color stands for the pen's CSS variable until the drawing is done.
func (p Pen) color() color.Color { return color.RGBA{0x01, 0x02, uint8(0x30 + p), 0xff} }

func (p Pen) line() draw.LineStyle {
	return draw.LineStyle{Color: p.color(), Width: pens[p].width, Dashes: pens[p].dashes}
}

// variables puts the CSS variables in the place of the colours.
var variables = func() *strings.Replacer {
	var pairs []string
	for p, pen := range pens {
		pairs = append(pairs, fmt.Sprintf("#0102%02X", 0x30+p), "var("+pen.variable+")")
	}
	return strings.NewReplacer(pairs...)
}()

// Swatch is a short piece of the pen's line, for a legend.
func (p Pen) Swatch() template.HTML {
	pen := pens[p]
	var dashes []string
	for _, d := range pen.dashes {
		dashes = append(dashes, fmt.Sprintf("%g", d.Points()))
	}
	return template.HTML(fmt.Sprintf(
		`<svg class="swatch" viewBox="0 0 26 8" aria-hidden="true"><path d="M0 4H26" fill="none" stroke="var(%s)" stroke-width="%g" stroke-dasharray="%s"/></svg>`,
		pen.variable, pen.width.Points(), strings.Join(dashes, " ")))
}

// HatchSwatch is a piece of the ground that a curve must keep off.
func HatchSwatch() template.HTML {
	return `<svg class="swatch" viewBox="0 0 26 8" aria-hidden="true"><path d="M0 2H26M6 2L1 7M11 2L6 7M16 2L11 7M21 2L16 7M26 2L21 7" fill="none" stroke="var(--limit)" stroke-width="0.8"/></svg>`
}
