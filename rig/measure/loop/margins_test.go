package loop

import (
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/require"
)

var wide = Band{Min: 1e-3, Max: 1e3}

// Loops of the kind found in every control text-book (PI control of an
// integrator, a lag and a motor-like plant with dead time; three lags). The
// numbers are roots found with scipy and again with Octave, to five places.
func TestMarginsOfTextbookLoops(t *testing.T) {
	pi := func(k, ti, l float64) Response { return PI{Kp: k, Ti: ti, Delay: l}.At }
	tests := []struct {
		name                                     string
		l                                        Response
		wc, pm, dm, w180, gm, ms, msAt, mt, mtAt float64
	}{
		{"A: e^-s/s, 0.5(1+1/4s)", pi(0.5, 4, 1).Times(Integrator(1)),
			0.549342, 34.055218, 1.081977, 1.393249, 2.742694, 1.963748, 0.772613, 1.741325, 0.480796},
		{"B: e^-0.2s/(s+1), 2(1+1/s)", pi(2, 1, 0.2).Times(Lag(1, 1)),
			2.000000, 67.081688, 0.585398, 7.853982, 3.926991, 1.437591, 5.390141, 1, 0},
		{"C: 2e^-0.05s/(s(0.1s+1)), 1+1/2s", pi(1, 2, 0.05).Times(Integrator(2)).Times(Lag(1, 0.1)),
			2.019605, 58.891058, 0.508933, 12.613989, 10.144389, 1.285649, 4.637849, 1.210153, 0.926375},
		{"E: 4/(s+1)^3", Lag(4, 1).Times(Lag(1, 1)).Times(Lag(1, 1)),
			1.232819, 27.141631, 0.384250, 1.732051, 2.000000, 3.000000, 1.414214, 2.414214, 1.352193},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m, err := MarginsOf(tt.l, wide)
			require.NoError(t, err)
			require.InDelta(t, tt.wc, m.Crossover.Value, 1e-5)
			require.InDelta(t, tt.pm, m.Phase.Value, 1e-5)
			require.InDelta(t, tt.dm, m.Delay.Value, 1e-5)
			require.InDelta(t, tt.w180, m.PhaseCrossover.Value, 1e-5)
			require.InDelta(t, tt.gm, m.Gain.Value, 1e-5)
			require.InDelta(t, tt.ms, m.Sensitivity.Value, 1e-5)
			require.InDelta(t, tt.msAt, m.SensitivityAt.Value, 1e-4)
			require.InDelta(t, tt.mt, m.Complementary.Value, 1e-4)
			if tt.mtAt > 0 {
				require.InDelta(t, tt.mtAt, m.ComplementaryAt.Value, 1e-4)
			} else {
				require.NotEmpty(t, m.ComplementaryAt.Warnings)
			}
		})
	}
	m, _ := MarginsOf(tests[0].l, wide)
	require.InDelta(t, 8.763547, Decibels(m.Gain.Value), 1e-5)
}

// Phase margin and resonance of the standard second order, L =
// ωn²/(s(s+2ζωn)): formulas as in Ogata, from memory.
func TestSecondOrderPhaseMarginAndPeak(t *testing.T) {
	for _, row := range []struct{ zeta, pm, mr float64 }{
		{0.1, 11.420619, 5.025189}, {0.2, 22.602284, 2.551552}, {0.4, 43.117598, 1.363862},
		{0.5, 51.827292, 1.154701}, {0.7, 65.156393, 1.000200}, {0.9, 73.513722, 0},
	} {
		l := func(w float64) complex128 { return 1 / (complex(0, w) * complex(2*row.zeta, w)) }
		m, err := MarginsOf(l, wide)
		require.NoError(t, err)
		require.InDelta(t, row.pm, m.Phase.Value, 1e-5)
		require.False(t, m.Gain.OK(), "the phase never reaches -180°")
		if row.mr > 0 {
			require.InDelta(t, row.mr, m.Complementary.Value, 1e-5)
		}
	}
}

func TestUnstableAndConditionallyStable(t *testing.T) {
	m, err := MarginsOf(Lag(16, 1).Times(Lag(1, 1)).Times(Lag(1, 1)), wide)
	require.NoError(t, err)
	require.Negative(t, m.Phase.Value)
	require.InDelta(t, 0.5, m.Gain.Value, 1e-6)
	require.False(t, m.Delay.OK())

	// 4(s+1)²/s³: gain may fall to an eighth (k·4 > 1/2 by Routh).
	conditional := func(w float64) complex128 { return 4 * cmplx.Pow(complex(1, w), 2) / cmplx.Pow(complex(0, w), 3) }
	m, err = MarginsOf(conditional, wide)
	require.NoError(t, err)
	require.InDelta(t, 0.125, m.GainDown.Value, 1e-6)
	require.False(t, m.Gain.OK())
	require.Positive(t, m.Phase.Value)
}

func TestOutsideTheBandIsMissing(t *testing.T) {
	m, err := MarginsOf(PI{Kp: 0.5, Ti: 4, Delay: 1}.At, Band{Min: 10, Max: 20})
	require.NoError(t, err)
	require.False(t, m.Crossover.OK())
	require.False(t, m.Phase.OK())
	for _, b := range []Band{{}, {1, 1}, {-1, 2}, {1, math.Inf(1)}, {math.NaN(), 2}} {
		_, err := MarginsOf(Integrator(1), b)
		require.ErrorIs(t, err, ErrBand)
	}
	_, err = MarginsOf(func(float64) complex128 { return cmplx.NaN() }, wide)
	require.Error(t, err)
}

// Zero-order hold and dead time, closed forms of any text-book on sampled
// control: fT = 0.5 is −3.92240 dB; a delay of 30 ms at 2 Hz is −21.6°.
func TestHoldAndDelay(t *testing.T) {
	for _, row := range []struct{ ft, gain float64 }{
		{0.01, 0.99983551}, {0.05, 0.99589274}, {0.1, 0.98363164}, {0.25, 0.90031632}, {0.5, 0.63661977},
	} {
		h := Hold(1)(2 * math.Pi * row.ft)
		require.InDelta(t, row.gain, cmplx.Abs(h), 1e-8)
		require.InDelta(t, -180*row.ft, 180/math.Pi*cmplx.Phase(h), 1e-9)
	}
	require.InDelta(t, -3.92240, Decibels(cmplx.Abs(Hold(1)(math.Pi))), 1e-5)
	require.InDelta(t, -21.6, 180/math.Pi*cmplx.Phase(Delay(0.03)(4*math.Pi)), 1e-9)
}
