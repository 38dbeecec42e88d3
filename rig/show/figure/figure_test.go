package figure

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Whatever comes in, the least and the greatest value of each column of the
// drawing are kept, in the order in which they came, in bounded room.
func TestThinnerKeepsWhatADrawingShows(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		columns := rapid.IntRange(1, 20).Draw(t, "columns")
		thin := NewThinner(0, 10, columns)
		y := rapid.SliceOfN(rapid.Float64Range(-1e6, 1e6), 1, 400).Draw(t, "y")
		least, most := make([]float64, columns), make([]float64, columns)
		seen := make([]bool, columns)
		for i, v := range y {
			x := 10 * float64(i) / float64(len(y))
			thin.Add(x, v)
			c := min(columns-1, int(x/(10/float64(columns))))
			if !seen[c] {
				least[c], most[c], seen[c] = v, v, true
			}
			least[c], most[c] = math.Min(least[c], v), math.Max(most[c], v)
		}
		cx, cy := thin.Curve()
		require.LessOrEqual(t, len(cx), 4*columns)
		require.Equal(t, y[0], cy[0])
		require.Equal(t, y[len(y)-1], cy[len(cy)-1])
		for c := range columns {
			if !seen[c] {
				continue
			}
			require.Contains(t, cy, least[c])
			require.Contains(t, cy, most[c])
		}
		for i := 1; i < len(cx); i++ {
			require.Less(t, cx[i-1], cx[i])
		}
	})
}

func TestThinnerLeavesOutWhatItCannotDraw(t *testing.T) {
	thin := NewThinner(0, 1, 4)
	for _, p := range [][2]float64{{-0.1, 5}, {0.1, math.NaN()}, {0.2, 1}, {1, 2}, {1.1, 9}} {
		thin.Add(p[0], p[1])
	}
	x, y := thin.Curve()
	require.Equal(t, []float64{0.2, 1}, x)
	require.Equal(t, []float64{1, 2}, y)
}

// A level line takes two points, however long it is.
func TestLevelLineIsShort(t *testing.T) {
	thin := NewThinner(0, 1, 100)
	for i := range 1000 {
		thin.Add(float64(i)/1000, 7)
	}
	x, _ := thin.Curve()
	require.Equal(t, []float64{0, 0.999}, x)
}

// Ticks at 1, 2, 5 times a power of ten (Tukey, Exploratory Data Analysis,
// 1977, from memory).
func TestTicks(t *testing.T) {
	for size, want := range map[float64]float64{0.9: 1, 1: 1, 1.1: 2, 2.5: 5, 6: 10, 0.03: 0.05, 430: 500} {
		require.InEpsilon(t, want, Step(size), 1e-12)
	}
	var labels []string
	for _, tick := range linear(4, true).Ticks(-0.11, 0.11) {
		labels = append(labels, tick.Label)
	}
	require.Equal(t, []string{"−0.1", "0.0", "0.1"}, labels)
	labels = nil
	for _, tick := range logarithmic(true).Ticks(0.4, 30) {
		if tick.Label != "" {
			labels = append(labels, tick.Label)
		}
	}
	require.Equal(t, []string{"0.5", "1", "2", "5", "10", "20"}, labels)
}

func drawn(t *testing.T) string {
	inf := math.Inf(1)
	f := Figure{
		Title: `"<b>&`, Width: 320, Axis: Axis{Label: "Hz", Low: 0.2, High: 9, Log: true},
		Panels: []Panel{
			{Label: "dB < 0", Height: 100, Low: -20, High: 20, Curves: []Curve{{X: []float64{0.3, 8}, Y: []float64{-50, 50}, Pen: Second}}},
			{
				Label: "°", Height: 100, Low: 0, High: 1, Zones: []Zone{{X0: 0, X1: inf, Y0: -inf, Y1: 0.4}, {X0: 5, X1: 4}},
				Rules: []Rule{{At: 0.5, Pen: Wanted}, {At: 2, Upright: true, Pen: Event}},
				Marks: []Mark{{X: 1, Y: 0.5, Ring: true, Label: "a"}, {X: 2, Y: 0.5, To: &[2]float64{2, 0.9}, Label: "b", Left: true}},
			},
		},
	}
	svg, err := f.SVG()
	require.NoError(t, err)
	return string(svg)
}

// The figure is well-formed, takes all its colours from the page, and escapes
// its words.
func TestFigureFollowsThePage(t *testing.T) {
	svg := drawn(t)
	d := xml.NewDecoder(strings.NewReader(svg))
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err)
		if e, ok := token.(xml.StartElement); ok {
			for _, a := range e.Attr {
				require.NotContains(t, a.Value, "#")
				require.NotContains(t, a.Value, "NaN")
				require.NotContains(t, a.Value, "Inf")
				require.NotContains(t, a.Value, "font-family")
			}
		}
	}
	for _, want := range []string{"var(--second)", "var(--limit)", "var(--ink)", "dB &lt; 0", `aria-label="&#34;&lt;b&gt;&amp;"`, ">0.5<"} {
		require.Contains(t, svg, want)
	}
	require.NotContains(t, svg, "<?xml")
}

// Each curve can be told from the others without colour.
func TestPensDifferWithoutColour(t *testing.T) {
	seen := map[string]bool{}
	for _, p := range []Pen{First, Second, Third} {
		swatch := string(p.Swatch())
		dash := swatch[strings.Index(swatch, "stroke-dasharray"):]
		require.False(t, seen[dash])
		seen[dash] = true
	}
}

func BenchmarkThinner(b *testing.B) {
	b.ReportAllocs()
	thin := NewThinner(0, 1, 330)
	i := 0
	for b.Loop() {
		thin.Add(float64(i%1000)/1000, float64(i%77))
		i++
	}
}
