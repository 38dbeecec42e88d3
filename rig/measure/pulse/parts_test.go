package pulse

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// Periods of 20, 21 and 22 ms scatter by 1 ms (the standard deviation of three
// numbers, by hand); two periods are too few to say so.
func TestJitterByHand(t *testing.T) {
	f := FramesOf([]float64{0, 0.020, 0.041, 0.063})
	require.InDelta(t, 0.001, f.Jitter.Value, 1e-12)
	require.Zero(t, f.Missing.Value)
	f = FramesOf([]float64{0, 0.020, 0.041})
	require.True(t, f.Rate.OK())
	require.False(t, f.Jitter.OK())
	f = FramesOf([]float64{0, 0.020, 0.040, 0.080, 0.100}) // five pulses in six frames
	require.InDelta(t, 50, f.Rate.Value, 1e-9)
	require.InDelta(t, 1./6, f.Missing.Value, 1e-12)
}

// Phasors of widths on a staircase agree in full; of two half a step apart not at
// all; of four on the quarters of a circle neither.
func TestAgreement(t *testing.T) {
	require.InDelta(t, 1, agreement([]float64{1, 1.25, 1.5, 3}, 4), 1e-12)
	require.InDelta(t, 0, agreement([]float64{1, 1.125}, 4), 1e-12)
	require.InDelta(t, 0, agreement([]float64{1, 1.0625, 1.125, 1.1875}, 4), 1e-12)
	require.InDelta(t, math.Sqrt2/2, agreement([]float64{1, 1.0625}, 4), 1e-12)
}

// Different widths are farther apart than half the resolution; of very many some are
// taken, from the whole of their range.
func TestDistinct(t *testing.T) {
	require.Equal(t, []float64{1, 1.75, 3}, distinct([]float64{3, 1, 1.25, 1.5, 1.75, 1}, 1))
	var many []float64
	for i := range 4 * mostWidths {
		many = append(many, float64(i))
	}
	some := distinct(many, 1)
	require.Len(t, some, mostWidths)
	seen := [4]int{}
	for _, w := range some {
		seen[int(w)/mostWidths]++
	}
	for _, n := range seen {
		require.InDelta(t, mostWidths/4, n, 4)
	}
	require.Len(t, distinct(many[:mostWidths], 1), mostWidths)
	require.Equal(t, many[:mostWidths], distinct(many[:mostWidths], 1))
}

// Widths within join of the one before are one level, their mean; from join on they
// are two.
func TestLevels(t *testing.T) {
	require.Equal(t, []float64{1.25, 5, 7}, levels([]float64{7, 1, 5, 1.5}, 2))
	require.Equal(t, []float64{3, 9}, levels([]float64{4, 2, 3, 9}, 1.5))
}

// The step of levels 0, 1, 3 and 6 steps apart from the first, known to be about
// 1.1, is that of the straight line through them.
func TestRefine(t *testing.T) {
	require.InDelta(t, 1.0, refine([]float64{5, 6, 8, 11}, 1.1), 1e-12)
}

// Strides of three sizes, or five levels that were rested on, are a governor that
// moves over a staircase; less may be a straight way.
func TestStoodUpon(t *testing.T) {
	require.True(t, stoodUpon([]float64{0, 1, 3, 0}, 1))
	require.False(t, stoodUpon([]float64{0, 1, 3, 5}, 1))
	require.False(t, stoodUpon([]float64{0, 1, 0, 1}, 1), "up and down is one size")
	require.True(t, stoodUpon([]float64{0, 0, 1, 1, 2, 2, 3, 3, 4, 4}, 1))
	require.False(t, stoodUpon([]float64{0, 0, 1, 1, 2, 2, 3, 3, 4}, 1))
}

// Eleven levels are too few to tell a step, twelve are enough.
func TestFewestWidths(t *testing.T) {
	const step = 20 * tick
	var widths []float64
	at := 0
	for i := range 12 {
		at += 1 + i%4 // strides of four sizes
		widths = append(widths, 1e-3+float64(at)*step)
	}
	got := StepsOf(widths[:11], tick)
	require.Equal(t, Untold, got.Kind)
	require.Contains(t, got.Reading().Why, "took only 11 values")
	got = StepsOf(widths, tick)
	require.Equal(t, Staircase, got.Kind)
	require.Equal(t, 12, got.Levels)
	require.InEpsilon(t, step, got.Reading().Value, 1e-9)
}

// Equal strides of many levels are told as what they are: nothing is known but that
// the step is no larger.
func TestEvenStridesAreSaidSo(t *testing.T) {
	var widths []float64
	for i := range 40 {
		widths = append(widths, 1e-3+float64(i)*16*tick)
	}
	got := StepsOf(widths, tick)
	require.Equal(t, Untold, got.Kind)
	require.InEpsilon(t, 16*tick, got.Step, 1e-9)
	require.Contains(t, got.Reading().Why, "went too evenly, or were too few (40), to tell a step; it is at most 1 µs")
}

// Six points on a line are enough to follow it, five are not; and a slope of 0.2 is
// not following yet.
func TestFollowAtItsEnds(t *testing.T) {
	x := []float64{0, 1, 2, 3, 4, 5, 6, 7, 8, 9}
	y := []float64{0, 1, 2, 3, 4, 5, 40, -30, 70, -90}
	line, ok := Follow(x, y, 1e-9)
	require.True(t, ok)
	require.Equal(t, 0.0, line.From)
	require.Equal(t, 5.0, line.To)
	require.InDelta(t, 2.5, line.At(2.5), 1e-9)
	require.InDelta(t, 2.5, line.X(2.5), 1e-9)
	y[5] = -20
	_, ok = Follow(x, y, 1e-9)
	require.False(t, ok)
	for slope, follows := range map[float64]bool{0.25: true, 0.15: false, -0.25: true, -0.15: false} {
		for i := range x {
			y[i] = 3 + slope*x[i]
		}
		line, ok = Follow(x, y, 1e-9)
		require.Equal(t, follows, ok, "%v", slope)
		if ok {
			require.InDelta(t, slope, line.Slope, 1e-9)
			require.InDelta(t, 3, line.Offset, 1e-9)
			require.Equal(t, 9.0, line.To)
		}
	}
}

// Of two straight stretches the longer is taken, though it comes later.
func TestFollowTakesTheLongest(t *testing.T) {
	var x, y []float64
	for i := range 20 {
		x, y = append(x, float64(i)), append(y, 100*float64(i%2*i))
		switch {
		case i >= 2 && i < 8:
			y[i] = float64(i)
		case i >= 12:
			y[i] = 2 * float64(i)
		}
	}
	line, ok := Follow(x, y, 1e-6)
	require.True(t, ok)
	require.Equal(t, 12.0, line.From)
	require.Equal(t, 19.0, line.To)
	require.InDelta(t, 2, line.Slope, 1e-9)
}

// Of 80 rates from one on, a twentieth of the width apart, the sharpest is the one at
// which a staircase of four levels a unit agrees.
func TestSharpest(t *testing.T) {
	widths := []float64{3, 3.25, 3.5, 4.75, 9, 17.25}
	require.InDelta(t, 4, sharpest(widths, 3.9, 0.1), 1e-9)
	require.InDelta(t, 4, sharpest(widths, 3.65, 0.1), 1e-9)
	require.InDelta(t, 3.995, sharpest(widths, 3.6, 0.1), 1e-9, "the last of them")
	require.InDelta(t, 4, sharpest(widths, 4, 0.1), 1e-9)
}

// Widths that stand on whole levels but for some on an eighth have steps of an eighth:
// a multiple of eight is tried, one of nine is not, and none at the highest rate.
func TestFiner(t *testing.T) {
	off := func(part float64) (widths []float64) {
		for i := range 60 {
			w := float64(i * i % 47)
			if i%4 == 1 {
				w += part
			}
			widths = append(widths, w)
		}
		return widths
	}
	require.InDelta(t, 8, finer(off(1./8), 1, 1./47, 100), 1e-3)
	require.InDelta(t, 8, finer(off(1./8), 1, 1./47, 8.1), 1e-3)
	require.Equal(t, 1.0, finer(off(1./8), 1, 1./47, 8))
	require.Equal(t, 1.0, finer(off(1./9), 1, 1./47, 100))
	require.Equal(t, 1.0, finer(off(0), 1, 1./47, 100), "a true staircase")
}
