package sheet

import (
	"bytes"
	"fmt"
	"image/color"
	"io"
	"math"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"
)

const (
	plotWidth  = 18 * vg.Centimeter
	plotHeight = 17 * vg.Centimeter
)

// The two lines differ in lightness and in dash, so that they stay apart in
// grey.
var (
	ink       = color.RGBA{0x22, 0x2b, 0x36, 0xff}
	faint     = color.RGBA{0xd9, 0xde, 0xe4, 0xff}
	builtLine = draw.LineStyle{Color: color.RGBA{0x0b, 0x3c, 0x6f, 0xff}, Width: vg.Points(2.2)}
	rodLine   = draw.LineStyle{Color: color.RGBA{0xd9, 0x7a, 0x1e, 0xff}, Width: vg.Points(1.8), Dashes: []vg.Length{vg.Points(6), vg.Points(3)}}
)

// WriteSVG draws the carburettor arm's angle and the open area over the
// servo's travel, one above the other: as built, and with the square rod. The
// error is that of the writer.
func (s *Sheet) WriteSVG(w io.Writer) error {
	angle := s.panel("carburettor arm, degrees", func(p Spot) float64 { return p.CarbDeg })
	area := s.panel("open area, %", func(p Spot) float64 { return p.AreaPct })
	area.Y.Min, area.Y.Max = 0, 100
	area.X.Label.Text = "servo travel, %   (−100 closed end, +100 open end)"
	angle.Title.Text = "Throttle linkage: " + s.Machine
	canvas := vgsvg.New(plotWidth, plotHeight)
	tiles := draw.Tiles{Rows: 2, Cols: 1, PadY: 6 * vg.Millimeter,
		PadTop: 4 * vg.Millimeter, PadBottom: 4 * vg.Millimeter, PadLeft: 4 * vg.Millimeter, PadRight: 6 * vg.Millimeter}
	panels := [][]*plot.Plot{{angle}, {area}}
	for row, cells := range plot.Align(panels, tiles, draw.New(canvas)) {
		panels[row][0].Draw(cells[0])
	}
	var svg bytes.Buffer
	if _, err := canvas.WriteTo(&svg); err != nil {
		return err
	}
	_, err := w.Write(bytes.ReplaceAll(svg.Bytes(), []byte(family), []byte(family+",Arial,Helvetica,sans-serif")))
	return err
}

// family is how the canvas names its face; Arial and Helvetica have the same
// widths, for readers without it.
const family = "font-family:Liberation Sans"

func (s *Sheet) panel(label string, value func(Spot) float64) *plot.Plot {
	p := plot.New()
	p.Y.Label.Text = label
	sans(p)
	grid := plotter.NewGrid()
	grid.Horizontal.Color, grid.Vertical.Color = faint, faint
	p.Add(grid)
	addCourse(p, s.Throttle.AsBuilt, builtLine, "as built", value)
	if s.Throttle.Square != nil {
		addCourse(p, s.Throttle.Square, rodLine, "with the square rod, barrel fully open at the open end", value)
	}
	p.X.Min, p.X.Max = -100, 100
	p.X.Tick.Marker = every(25)
	p.Y.Tick.Marker = every(10)
	p.Legend.Top, p.Legend.Left = true, true
	p.Legend.XOffs, p.Legend.YOffs = 3*vg.Millimeter, -2*vg.Millimeter
	p.Legend.Padding = vg.Millimeter
	p.Legend.ThumbnailWidth = 10 * vg.Millimeter
	return p
}

func addCourse(p *plot.Plot, c *Course, style draw.LineStyle, name string, value func(Spot) float64) {
	points := make(plotter.XYs, len(c.Points))
	for i, spot := range c.Points {
		points[i] = plotter.XY{X: spot.TravelPercent, Y: value(spot)}
	}
	line := &plotter.Line{XYs: points, LineStyle: style}
	p.Add(line)
	p.Legend.Add(name, line)
}

// sans dresses a plot in a sans-serif face and quiet axes.
func sans(p *plot.Plot) {
	styles := map[*text.Style]vg.Length{
		&p.Title.TextStyle:   12,
		&p.X.Label.TextStyle: 10, &p.Y.Label.TextStyle: 10,
		&p.X.Tick.Label: 9, &p.Y.Tick.Label: 9,
		&p.Legend.TextStyle: 10,
	}
	for style, size := range styles {
		style.Font = font.Font{Typeface: "Liberation", Variant: "Sans", Size: size}
		style.Color = ink
	}
	p.Title.Padding = 3 * vg.Millimeter
	for _, axis := range []*plot.Axis{&p.X, &p.Y} {
		axis.Padding = 0
		axis.Label.Padding = 2 * vg.Millimeter
		axis.LineStyle.Color, axis.Tick.Color = ink, faint
		axis.LineStyle.Width = vg.Points(0.8)
		axis.Tick.Length = vg.Points(4)
	}
}

// every puts a labelled tick at each whole multiple of a step.
func every(step float64) plot.Ticker {
	return plot.TickerFunc(func(min, max float64) []plot.Tick {
		var ticks []plot.Tick
		for v := math.Ceil(min/step) * step; v <= max; v += step {
			ticks = append(ticks, plot.Tick{Value: v, Label: strings.Replace(fmt.Sprintf("%.0f", v), "-", "−", 1)})
		}
		return ticks
	})
}
