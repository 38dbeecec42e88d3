package pen

import (
	"math"
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

func BenchmarkThinner(b *testing.B) {
	b.ReportAllocs()
	thin := NewThinner(0, 1, 330)
	i := 0
	for b.Loop() {
		thin.Add(float64(i%1000)/1000, float64(i%77))
		i++
	}
}
