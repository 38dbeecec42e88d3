package pen

import (
	"encoding/xml"
	"fmt"
	"html/template"
	"io"
	"math"
	"strconv"
	"strings"
)

// Canvas is a drawing under way; what is drawn later lies on top. Places and
// lengths are in px, to the right and down. A class is one or more of the names
// in look.css, separated by spaces.
type Canvas struct {
	width, height float64
	opening, body strings.Builder
}

// New makes a canvas. Title is the name of the picture for those who cannot see
// it, and about what it shows, in a sentence or two; a picture without a title
// is an ornament beside words that say the same.
func New(width, height float64, title, about string) *Canvas {
	c := &Canvas{width: width, height: height}
	if title == "" {
		c.opening.WriteString(`class="pen" aria-hidden="true">`)
		return c
	}
	c.opening.WriteString(`class="pen figure" role="img"><title>` + escaped(title) + `</title>`)
	if about != "" {
		c.opening.WriteString(`<desc>` + escaped(about) + `</desc>`)
	}
	return c
}

// Path draws along the data of an SVG path.
func (c *Canvas) Path(class, data string) {
	if data == "" {
		return
	}
	fmt.Fprintf(&c.body, `<path class="%s" d="%s"/>`, class, data)
}

// Line draws from one point through others, given as x and y in turn.
func (c *Canvas) Line(class string, points ...float64) {
	var t Trail
	for i := 0; i+1 < len(points); i += 2 {
		t.To(points[i], points[i+1])
	}
	c.Path(class, t.Data())
}

// Rect draws a rectangle from its upper left corner.
func (c *Canvas) Rect(class string, x, y, width, height float64) {
	fmt.Fprintf(&c.body, `<rect class="%s" x="%s" y="%s" width="%s" height="%s"/>`, class, px(x), px(y), px(width), px(height))
}

// Circle draws a circle about its centre.
func (c *Canvas) Circle(class string, x, y, radius float64) {
	fmt.Fprintf(&c.body, `<circle class="%s" cx="%s" cy="%s" r="%s"/>`, class, px(x), px(y), px(radius))
}

// Text writes on a base line, to the right of x unless the class says middle or
// end.
func (c *Canvas) Text(class string, x, y float64, text string) {
	fmt.Fprintf(&c.body, `<text class="%s" x="%s" y="%s">%s</text>`, class, px(x), px(y), escaped(text))
}

// Heading writes the heading of a picture; the canvas grows as wide as it is.
func (c *Canvas) Heading(x, y float64, text string) {
	c.Text("heading", x, y, text)
	c.width = max(c.width, 2*x+1.1*textWidth(text, headingSize))
}

// within draws in a window of the canvas that cuts off what lies beyond it; the
// places in it count from its upper left corner.
func (c *Canvas) within(x, y, width, height float64, draw func()) {
	fmt.Fprintf(&c.body, `<svg x="%s" y="%s" width="%s" height="%s">`, px(x), px(y), px(width), px(height))
	draw()
	c.body.WriteString(`</svg>`)
}

// HTML is the drawing as a part of a page, which gives it its width.
func (c *Canvas) HTML() template.HTML {
	return template.HTML(fmt.Sprintf(`<svg viewBox="0 0 %s %s" %s%s</svg>`,
		px(c.width), px(c.height), c.opening.String(), c.body.String()))
}

// fileMargin is the empty room around a drawing in a file, px.
const fileMargin = 10

// WriteSVG writes the drawing as a file of its own, so many times larger. The
// error is that of the writer.
func (c *Canvas) WriteSVG(w io.Writer, scale float64) error {
	width, height := c.width+2*fileMargin, c.height+2*fileMargin
	_, err := fmt.Fprintf(w, `<svg xmlns="http://www.w3.org/2000/svg" width="%s" height="%s" viewBox="%d %d %s %s" %s<style>%s</style>`,
		px(width*scale), px(height*scale), -fileMargin, -fileMargin, px(width), px(height), c.opening.String(), fileStyle())
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(w, `<rect class="paper" x="%d" y="%d" width="%s" height="%s"/>%s</svg>`+"\n",
		-fileMargin, -fileMargin, px(width), px(height), c.body.String())
	return err
}

// Trail is a way through points, as the data of a path.
type Trail struct{ b strings.Builder }

// Move begins anew at a point.
func (t *Trail) Move(x, y float64) { t.b.WriteString("M" + px(x) + " " + px(y)) }

// To goes on to a point, or begins there.
func (t *Trail) To(x, y float64) {
	if t.b.Len() == 0 {
		t.Move(x, y)
		return
	}
	t.b.WriteString("L" + px(x) + " " + px(y))
}

// Data is what Path takes.
func (t *Trail) Data() string { return t.b.String() }

// px writes a length to a tenth, finer than a screen shows.
func px(v float64) string { return strconv.FormatFloat(math.Round(v*10)/10+0, 'f', -1, 64) }

func escaped(text string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(text)) // a strings.Builder takes everything
	return b.String()
}
