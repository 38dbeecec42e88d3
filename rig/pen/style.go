package pen

import (
	_ "embed"
	"html/template"
	"strings"
)

//go:embed look.css
var look string

// colours are the names that look.css and the pages use, on light ground and on
// dark.
var colours = [...]struct{ name, light, dark string }{
	{"paper", "#ffffff", "#11161d"},
	{"ink", "#1a2330", "#e4e9ef"},
	{"pale", "#5d6874", "#94a1af"},
	{"grid", "#e6eaef", "#252e39"},
	{"rule", "#c7cfd8", "#3a4653"},
	{"panel", "#f4f6f8", "#19202a"},
	{"first", "#0b4a86", "#74b6f4"},
	{"second", "#b5500f", "#f2a45f"},
	{"limit", "#b0263c", "#ff8593"},
	// Quarters of what is good, the best first; what is written on the first two
	// has the colour of paper, on the others of ink.
	{"best", "#0b3c6f", "#a9d4fb"},
	{"good", "#2f6299", "#6fa9e0"},
	{"fair", "#a6c3e0", "#2b5077"},
	{"last", "#d9e7f5", "#1c3046"},
	// Outcomes, and what is written on the colour of a failure.
	{"pass", "#1d6b3c", "#7fd39c"},
	{"fail", "#b0263c", "#ff8593"},
	{"open", "#7a5200", "#e7bd62"},
	{"on", "#ffffff", "#2a0b10"},
}

// Paper is always light.
const darkScreen = "@media screen and (prefers-color-scheme: dark) {"

// Style is what a page needs to show drawings: the colours, as custom
// properties that the page uses too, and the look.
func Style() template.CSS {
	var light, dark strings.Builder
	for _, c := range colours {
		light.WriteString("--" + c.name + ":" + c.light + ";")
		dark.WriteString("--" + c.name + ":" + c.dark + ";")
	}
	return template.CSS(":root {color-scheme: light dark;" + light.String() + "}\n" + darkScreen + " :root {" + dark.String() + "} }\n" + look)
}

// A file shrinks to the width of the window that shows it, and to a sheet of
// paper.
const (
	fileLook  = "svg.figure { max-width: 100%; height: auto; background: var(--paper); }\n"
	printLook = "@media print { svg.figure { max-height: 100vh; } }\n"
)

// fileStyle is the look with the colours put in, for programs that show SVG
// files but know no custom properties.
func fileStyle() string {
	var light, dark []string
	for _, c := range colours {
		light = append(light, "var(--"+c.name+")", c.light)
		dark = append(dark, "var(--"+c.name+")", c.dark)
	}
	return "\n" + strings.NewReplacer(light...).Replace(fileLook+look) + darkScreen + "\n" + strings.NewReplacer(dark...).Replace(fileLook+look) + "}\n" + printLook
}

// Stroke is how a line of a chart looks. First and Second are for curves, Wanted
// for what a curve should be, Limit for what it must not pass, Event for what
// happened and where.
type Stroke string

// The strokes, by their names in look.css.
const (
	First  Stroke = "first"
	Second Stroke = "second"
	Wanted Stroke = "wanted"
	Limit  Stroke = "limit"
	Event  Stroke = "event"
)

// swatch sizes, px.
const swatchWidth, swatchHeight = 26, 8

// Swatch is a short piece of the line, for a legend.
func (s Stroke) Swatch() *Canvas {
	c := New(swatchWidth, swatchHeight, "", "")
	if s == Limit {
		c.edge(0, swatchWidth, 2, swatchHeight)
		return c
	}
	c.Line(string(s), 0, swatchHeight/2, swatchWidth, swatchHeight/2)
	return c
}

// hatch is the distance of the strokes behind an edge, depth how far they reach.
const hatch, depth = 5.0, 5.0

// edge draws a level edge with short strokes on the side to keep off, toward
// y=to at most.
func (c *Canvas) edge(x0, x1, y, to float64) {
	c.Line(string(Limit), x0, y, x1, y)
	end := max(min(to, y+depth), y-depth)
	var t Trail
	for x := x0 + depth; x <= x1; x += hatch {
		t.Move(x, y)
		t.To(x-depth, end)
	}
	c.Path("hatch", t.Data())
}
