package step

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// A true first order with dead time comes back exactly under each method.
func TestTrueDeadTimeComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lag := rapid.Float64Range(0.5, 3).Draw(t, "T")
		delay := rapid.Float64Range(0.05, 1).Draw(t, "L")
		gain := rapid.Float64Range(-3, 3).Filter(func(g float64) bool { return math.Abs(g) > 0.1 }).Draw(t, "K")
		s := sampled(1, 12*lag+delay, func(x float64) float64 {
			return 9000 - 400*gain*math.Expm1(-math.Max(0, x-delay)/lag)
		})
		f, err := FitDeadTime(s, Windows{}, 400)
		require.NoError(t, err)
		for name, d := range map[string]DeadTime{"two point": f.TwoPoint, "tangent": f.Tangent, "area": f.Area} {
			require.InEpsilon(t, gain, d.Gain, 1e-4, name)
			tolerance := 0.002
			if name == "tangent" {
				tolerance = 0.1 * lag // the slope over a twentieth of the rise
			}
			require.InDelta(t, lag, d.Lag, tolerance, name)
			require.InDelta(t, delay, d.Delay, tolerance, name)
		}
		require.Less(t, f.TwoPoint.Residual, 1e-3)
	})
}

// Three equal lags 1/(s+1)³, where the methods differ: two-point values and
// tangent by root finding (t28 = 1.852478, t63 = 3.258252; slope 2e^{−2} at
// t = 2), area exactly 3. Methods of Smith and of Ziegler & Nichols as in
// Åström & Hägglund, PID Controllers, from memory.
func TestThreeLagsUnderEachMethod(t *testing.T) {
	s := sampled(1, 60, func(x float64) float64 {
		x = math.Max(0, x)
		return 1 - math.Exp(-x)*(1+x+x*x/2)
	})
	f, err := FitDeadTime(s, Windows{}, 1)
	require.NoError(t, err)
	require.InDelta(t, 2.108662, f.TwoPoint.Lag, 2e-4)
	require.InDelta(t, 1.149590, f.TwoPoint.Delay, 2e-4)
	require.InDelta(t, 3.694528, f.Tangent.Lag, 0.004)
	require.InDelta(t, 0.805472, f.Tangent.Delay, 0.003)
	require.InDelta(t, 3, f.Area.Lag+f.Area.Delay, 1e-4)
	// ∫₀³ y dt = 3 − ∫₀³ e^{−t}(1 + t + t²/2) dt, times e.
	below := 3 - (3 - math.Exp(-3)*(3+2*3+9.0/2))
	require.InDelta(t, math.E*below, f.Area.Lag, 1e-3)
	require.Greater(t, f.TwoPoint.Residual, 1e-3, "it is no first order")
}

func TestNoFitFromADip(t *testing.T) {
	_, err := FitDeadTime(sampled(1, 8, dip), Windows{}, 1)
	require.ErrorContains(t, err, "no lasting change")
	_, err = FitDeadTime(sampled(1, 20, func(x float64) float64 { return -math.Expm1(-math.Max(0, x)) }), Windows{}, 0)
	require.Error(t, err)
}
