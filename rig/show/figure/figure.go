package figure

import (
	"bytes"
	"fmt"
	"html/template"
	"regexp"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"
)

// Figure is a drawing of panels, first on top.
type Figure struct {
	// Title says what the figure shows, for those who cannot see it.
	Title string
	// Width in px at the size at which it reads best.
	Width  float64
	Axis   Axis
	Panels []Panel
}

const (
	labelRoom = 16 // px above a panel
	axisRoom  = 28 // px below the lowest
	edge      = 6  // px left and right
)

// SVG draws the figure. It scales with the width that the page gives it.
func (f *Figure) SVG() (template.HTML, error) {
	height := float64(axisRoom)
	for _, p := range f.Panels {
		height += p.Height
	}
	canvas := vgsvg.New(vg.Length(f.Width), vg.Length(height))
	f.draw(draw.New(canvas))
	var b bytes.Buffer
	if _, err := canvas.WriteTo(&b); err != nil {
		return "", fmt.Errorf("figure: %w", err)
	}
	return f.dress(b.Bytes(), height), nil
}

func (f *Figure) draw(c draw.Canvas) {
	c = draw.Crop(c, edge, -edge, 0, 0)
	cells := make([]draw.Canvas, len(f.Panels))
	plots := make([]*plot.Plot, len(f.Panels))
	var left, right vg.Length // room that the widest labels take
	top := c.Max.Y
	for i := range f.Panels {
		p := &f.Panels[i]
		lowest := i == len(f.Panels)-1
		plots[i], cells[i] = p.plot(&f.Axis, f.Width, lowest), c
		cells[i].Max.Y = top - labelRoom
		top -= vg.Length(p.Height)
		if cells[i].Min.Y = top; lowest {
			cells[i].Min.Y -= axisRoom
		}
		data := plots[i].DataCanvas(cells[i])
		left, right = max(left, data.Min.X-c.Min.X), max(right, c.Max.X-data.Max.X)
	}
	for i, p := range plots {
		data := p.DataCanvas(cells[i])
		cells[i].Min.X += left - (data.Min.X - c.Min.X)
		cells[i].Max.X -= right - (c.Max.X - data.Max.X)
		p.Draw(cells[i])
	}
}

var (
	head = regexp.MustCompile(`(?s)^.*?<svg[^>]*>`)
	face = regexp.MustCompile(`font-family:[^;]*;font-variant:[^;]*;font-weight:[^;]*;font-style:[^;]*;`)
)

// dress makes what the canvas wrote a part of a page: it takes the page's face
// and colours and has a title.
func (f *Figure) dress(svg []byte, height float64) template.HTML {
	svg = head.ReplaceAll(svg, nil)
	svg = face.ReplaceAll(svg, nil)
	title := template.HTMLEscapeString(f.Title)
	return template.HTML(fmt.Sprintf(`<svg class="figure" viewBox="0 0 %g %g" role="img" aria-label="%s">`,
		f.Width, height, title) + variables.Replace(string(svg)))
}
