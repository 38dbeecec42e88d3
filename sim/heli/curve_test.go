package heli

import (
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/interp"
	"pgregory.net/rapid"
)

// Inside, where the ends have no say, the curve is gonum's FritschButland,
// which follows the same paper.
func TestCurveIsFritschButland(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		y := rapid.SliceOfN(rapid.Float64Range(0, 1), 5, 40).Draw(t, "y")
		x := make([]float64, len(y))
		for i := range x {
			x[i] = float64(i) / float64(len(y)-1)
		}
		var reference interp.FritschButland
		require.NoError(t, reference.Fit(x, y))
		c := newCurve(y)
		at := rapid.Float64Range(x[1], x[len(x)-2]).Draw(t, "x")
		require.InDelta(t, reference.Predict(at), c.at(at), 1e-12)
		require.InDelta(t, reference.PredictDerivative(at), c.slope(at), 1e-8)
	})
}

func TestCurvePassesItsValuesAndNeverOvershoots(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		y := rapid.SliceOfN(rapid.Float64Range(0, 1), 2, 40).Draw(t, "y")
		c := newCurve(y)
		for i, want := range y {
			require.InDelta(t, want, c.at(float64(i)/float64(len(y)-1)), 1e-12)
		}
		got := c.at(rapid.Float64Range(0, 1).Draw(t, "x"))
		require.GreaterOrEqual(t, got, -1e-12)
		require.LessOrEqual(t, got, 1+1e-12)
	})
}

func TestFindInvertsTheCurve(t *testing.T) {
	c := newCurve(roundBarrel(65))
	rapid.Check(t, func(t *rapid.T) {
		y := rapid.Float64Range(0, 1).Draw(t, "y")
		x, ok := c.find(y)
		require.True(t, ok)
		require.InDelta(t, y, c.at(x), 1e-9)
	})
	_, ok := c.find(1.01)
	require.False(t, ok)
}
