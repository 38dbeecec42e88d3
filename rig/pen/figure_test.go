package pen

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func example() *Figure {
	inf := math.Inf(1)
	return &Figure{
		Title: `"<b>&`, Heading: "Heading", Keys: []Key{{First, "one"}, {Limit, "two"}},
		Width: 320, Axis: Axis{Label: "Hz", Low: 0.2, High: 9, Log: true},
		Panels: []Panel{
			{Label: "dB < 0", Height: 100, Low: -20, High: 20, Curves: []Curve{{X: []float64{0.3, 8}, Y: []float64{-50, 50}, Stroke: Second}}},
			{
				Label: "°", Height: 100, Low: 0, High: 1, Zones: []Zone{{X0: 0, X1: inf, Y0: -inf, Y1: 0.4}, {X0: 5, X1: 4, Y0: 0.4, Y1: inf}},
				Rules: []Rule{{At: 0.5, Stroke: Wanted}, {At: 2, Upright: true, Stroke: Event}},
				Marks: []Mark{{X: 1, Y: 0.5, Ring: true, Label: "a"}, {X: 9, Y: 1, To: &[2]float64{2, 0.9}, Label: "near the edge"}, {X: 0.2, Y: 0.5, Label: "and there", Left: true}},
			},
		},
	}
}

func fileOf(t *testing.T, c *Canvas) string {
	t.Helper()
	var b strings.Builder
	require.NoError(t, c.WriteSVG(&b, 1))
	return b.String()
}

// walk goes through the elements of a drawing, which has to be well-formed.
func walk(t *testing.T, svg string, see func(xml.StartElement)) (text string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(svg))
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return text
		}
		require.NoError(t, err)
		switch token := token.(type) {
		case xml.StartElement:
			see(token)
		case xml.CharData:
			text += string(token)
		}
	}
}

var inLook = regexp.MustCompile(`[.a-z]*\.([a-z]+)\b`)

// In a page and in a file, a drawing is well-formed, escapes its words, has a
// name and a description, has no identifiers and no colours of its own, and no
// number that is none; each of its classes has a look.
func TestDrawingIsClean(t *testing.T) {
	classes := map[string]bool{"figure": true, "pen": true}
	for _, m := range inLook.FindAllStringSubmatch(look, -1) {
		classes[m[1]] = true
	}
	for name, svg := range map[string]string{"page": string(example().Draw().HTML()), "file": fileOf(t, example().Draw())} {
		text := walk(t, svg, func(e xml.StartElement) {
			for _, a := range e.Attr {
				require.NotRegexp(t, `#|NaN|Inf|url\(`, a.Value, name)
				require.NotContains(t, []string{"id", "style", "fill", "stroke"}, a.Name.Local, name)
				if a.Name.Local == "class" {
					for _, class := range strings.Fields(a.Value) {
						require.True(t, classes[class], "%s: %s", name, class)
					}
				}
			}
		})
		for _, want := range []string{`"<b>&`, "dB < 0", "Heading", "one", "0.5", "limits at 0.4", "dB < 0: from −50 to 50", "Across: Hz, from 0.2 to 9."} {
			require.Contains(t, text, want, name)
		}
	}
}

// The same figure gives the same bytes, and only a file names its name space and
// its look.
func TestDrawingIsTheSameAgain(t *testing.T) {
	page, file := string(example().Draw().HTML()), fileOf(t, example().Draw())
	require.Equal(t, page, string(example().Draw().HTML()))
	require.Equal(t, file, fileOf(t, example().Draw()))
	require.NotContains(t, page, "http")
	require.NotContains(t, page, "<style")
	require.Contains(t, file, `xmlns="http://www.w3.org/2000/svg"`)
	require.Contains(t, file, "prefers-color-scheme: dark")
	require.Equal(t, strings.Count(page, "<svg"), strings.Count(page, "</svg>"))
}

// What cannot be XML is replaced, so that a file opens whatever it is told.
func TestTextOfAnySortIsWellFormed(t *testing.T) {
	c := New(10, 10, "\x00\x1b[31m", "\xff")
	c.Text("", 0, 0, "a\x00b]]>&<")
	require.Contains(t, walk(t, fileOf(t, c), func(xml.StartElement) {}), "a\uFFFDb]]>&<")
}

// Labels that would stick out are pulled in, by the width of Helvetica's letters
// (Adobe Core 14 AFM, from memory: n 556, t 278, e 556, a 556 … per mille).
func TestLabelsStayInside(t *testing.T) {
	svg := string(example().Draw().HTML())
	found := 0
	place := regexp.MustCompile(`<text class="([^"]*)" x="([-0-9.]+)" y="([-0-9.]+)">([^<]*)<`)
	for _, m := range place.FindAllStringSubmatch(svg, -1) {
		x, err := strconv.ParseFloat(m[2], 64)
		require.NoError(t, err)
		width := textWidth(m[4], labelSize)
		switch {
		case strings.Contains(m[1], "middle"):
			x -= width / 2
		case strings.Contains(m[1], "end"):
			x -= width
		}
		require.GreaterOrEqual(t, x, -0.5, m[4])
		require.LessOrEqual(t, x+width, 320.5, m[4])
		found++
	}
	require.Greater(t, found, 15)
	require.InDelta(t, 4*0.556*10, textWidth("1480", 10), 0.7)
}

// A name of any length has room: W, the widest letter, is 944 per mille in bold.
func TestHeadingHasRoom(t *testing.T) {
	f := example()
	f.Heading = strings.Repeat("W", 100)
	require.GreaterOrEqual(t, f.Draw().width, 100*0.944*headingSize)
	require.Equal(t, f.Width, example().Draw().width)
}

// Zones show their edges, the strokes on the side to keep off; beyond the panel
// there is nothing to draw.
func TestZones(t *testing.T) {
	inf := math.Inf(1)
	x, y := scale{low: 0, high: 10, to: 100}, scale{low: 0, high: 10, from: 100}
	for name, c := range map[string]struct {
		zone   Zone
		limits int
		data   string
	}{
		"below": {Zone{-inf, inf, -inf, 4}, 1, `d="M0 60L100 60"/><path class="hatch" d="M5 60L0 65M10`},
		"above": {Zone{2, 10, 6, inf}, 1, `d="M20 40L100 40"/><path class="hatch" d="M25 40L20 35M30`},
		"thin":  {Zone{-inf, inf, 5, 5.2}, 2, `<path class="hatch" d="M5 50L0 48M10`},
		"out":   {Zone{-inf, inf, 11, inf}, 0, ""},
		"empty": {Zone{5, 4, 1, 2}, 0, ""},
	} {
		canvas := New(100, 100, "z", "")
		c.zone.draw(canvas, x, y)
		require.Equal(t, c.limits, strings.Count(canvas.body.String(), `class="limit"`), name)
		require.Contains(t, canvas.body.String(), c.data, name)
	}
	low, high := Zone{0, 1, -inf, 4}.Reach(5, 6)
	require.Equal(t, []float64{4, 6}, []float64{low, high})
}

// A panel without curves, or with a value that never changes, is drawn as well.
func TestNothingToDraw(t *testing.T) {
	f := Figure{Title: "empty", Width: 300, Axis: Axis{Label: "s"}, Panels: []Panel{{Label: "rpm", Height: 80, Curves: []Curve{{Stroke: First}}}}}
	svg := string(f.Draw().HTML())
	require.NotRegexp(t, "NaN|Inf", svg)
	require.Contains(t, svg, "<desc>rpm. Across: s, from 0 to 0.</desc>")
}

// Ornaments are left out of what is read aloud.
func TestSwatchIsSilent(t *testing.T) {
	for _, s := range []Stroke{First, Limit} {
		require.Contains(t, string(s.Swatch().HTML()), `aria-hidden="true"`)
		require.NotContains(t, string(s.Swatch().HTML()), "<title")
	}
}
