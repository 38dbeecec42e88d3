package linkage

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The lens of two unit circles one apart is 2π/3 − √3/2 (Weisstein, MathWorld,
// "Circle-Circle Intersection"). The other two were computed by that page's
// formula and by summing strips.
func TestLens(t *testing.T) {
	require.InDelta(t, 2*math.Pi/3-math.Sqrt(3)/2, Lens(1, 1, 1), 1e-12)
	require.InDelta(t, 1.228369699, Lens(1, 1, 1), 5e-10)
	require.InDelta(t, 1.989791819, Lens(2, 3, 4), 5e-10)
	require.InDelta(t, 2.392549868, Lens(1, 2, 1.5), 5e-10)
}

// MathWorld gives 0.8079… as the distance at which half of a unit circle is
// covered (from memory); further digits by bisection.
func TestHalfArea(t *testing.T) {
	require.InDelta(t, math.Pi/2, Lens(1, 1, 0.807945507), 2e-9)
}

// Equal 8 mm bores; areas in mm² against distance as a share of the diameter.
// Own computation, checked by a second oracle: the open share is the
// describing function of a dead zone with D/A = d/2r (Gelb & Vander Velde,
// App. B, from memory).
func TestEqualBores(t *testing.T) {
	areas := map[float64]float64{0.9: 1.879229, 0.75: 7.252988, 0.5: 19.653915, 0.25: 34.433748, 0.1: 43.876165}
	for x, area := range areas {
		require.InDelta(t, area, Lens(4, 4, 8*x), 5e-7)
		deadZone := 1 - 2/math.Pi*(math.Asin(x)+x*math.Sqrt(1-x*x))
		require.InDelta(t, deadZone, Lens(4, 4, 8*x)/Lens(4, 4, 0), 1e-12)
	}
}

func TestLensLimits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r1 := rapid.Float64Range(0.1, 10).Draw(t, "r1")
		r2 := rapid.Float64Range(0.1, 10).Draw(t, "r2")
		d := rapid.Float64Range(0, 25).Draw(t, "d")
		area := Lens(r1, r2, d)
		full := math.Pi * math.Pow(math.Min(r1, r2), 2)
		require.GreaterOrEqual(t, area, -1e-9)
		require.LessOrEqual(t, area, full*(1+1e-9))
		require.InDelta(t, area, Lens(r2, r1, d), 1e-9*full)
		require.LessOrEqual(t, Lens(r1, r2, d+0.01), area+1e-9*full)
	})
}

// The lens summed as strips between the two arcs, a way of its own.
func TestLensAgainstStrips(t *testing.T) {
	const n = 200_000
	for _, c := range [][3]float64{{2, 3, 4}, {1, 2, 1.5}, {1, 1, 0.3}} {
		r1, r2, d := c[0], c[1], c[2]
		sum, width := 0.0, 2*r1/n
		for i := range n {
			x := -r1 + (float64(i)+0.5)*width
			h := math.Min(r1*r1-x*x, r2*r2-(x-d)*(x-d))
			sum += 2 * math.Sqrt(math.Max(0, h)) * width
		}
		require.InDelta(t, sum, Lens(r1, r2, d), 1e-5)
	}
}

// Equal holes of a cylinder part at a turn of twice the angle that the bore
// takes at the barrel's surface: plane geometry.
func TestBarrelCloses(t *testing.T) {
	b := Barrel{Diameter: 0.013, Bore: 0.0085, Hole: 0.0085}
	closed := 2 * math.Asin(8.5/13)
	require.InDelta(t, closed, b.ClosedAt(), 1e-12)
	require.Equal(t, 1.0, b.Share(0))
	require.Positive(t, b.Share(closed-0.01))
	require.Zero(t, b.Share(closed+1e-9))
	require.InDelta(t, b.Share(0.4), b.Share(-0.4), 1e-15)
}

// Two equal orifices in series pass what one of 1/√2 the area passes: equal
// pressure drops add, and flow goes with the root of the drop (Bernoulli).
func TestWindowsInSeries(t *testing.T) {
	b := Barrel{Diameter: 0.013, Bore: 0.0085, Hole: 0.0085}
	one := 0.7 * b.Window(0.5)
	series := 1 / math.Sqrt(1/(one*one)+1/(one*one))
	require.InDelta(t, series, b.FlowArea(0.5, 0.7), 1e-15)
}

func TestShareSlopeIsTheDerivative(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := Barrel{Diameter: 0.013, Bore: 0.0085}
		b.Hole = rapid.Float64Range(0.006, 0.011).Draw(t, "hole")
		at := rapid.Float64Range(-1.2, 1.2).Draw(t, "rotation")
		const h = 1e-6
		edges := []float64{0, 2 * math.Asin(math.Abs(b.Hole-b.Bore)/2/b.Diameter), b.ClosedAt()}
		for _, edge := range edges { // the slope has a corner at each
			if math.Abs(math.Abs(at)-edge) < 1e-3 {
				return
			}
		}
		require.InDelta(t, (b.Share(at+h)-b.Share(at-h))/(2*h), b.ShareSlope(at), 1e-6)
	})
}

func TestTable(t *testing.T) {
	l, err := New(bench())
	require.NoError(t, err)
	table, err := l.Table(41)
	require.NoError(t, err)
	require.Len(t, table, 41)
	require.InDelta(t, 1, table[40], 1e-9, "the open end is fully open")
	for i := 1; i < len(table); i++ {
		require.Greater(t, table[i], table[i-1]-1e-12)
	}
	// At mid travel the parallelogram leaves the barrel 40° short of open.
	require.InDelta(t, bench().Barrel.Share(40*deg), table[20], 1e-9)
	_, err = l.Table(1)
	require.Error(t, err)
}

func TestOpeningSlopeIsTheDerivative(t *testing.T) {
	p := bench()
	p.ServoArm, p.Rod = 0.012, 0.061
	l, err := New(p)
	require.NoError(t, err)
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.Float64Range(-0.9, 0.9).Draw(t, "u")
		const h = 1e-6
		_, slope, err := l.Opening(u)
		require.NoError(t, err)
		before, _, _ := l.Opening(u - h)
		after, _, _ := l.Opening(u + h)
		require.InDelta(t, (after-before)/(2*h), slope, 1e-6)
	})
}

func BenchmarkTable(b *testing.B) {
	l, err := New(bench())
	require.NoError(b, err)
	b.ReportAllocs()
	for b.Loop() {
		_, _ = l.Table(201)
	}
}
