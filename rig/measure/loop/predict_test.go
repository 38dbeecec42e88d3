package loop

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// PI control of an inertia: the closed forms tabulated also for the step
// analyser; control text-books. ωn = 1, J = 1, unit load.
func TestPredictedDipOfAnInertia(t *testing.T) {
	for _, row := range []struct{ zeta, tPeak, peak, band, reentry float64 }{
		{0.2, 1.397677, 0.756135, 0.05, 14.779442},
		{0.5, 1.209200, 0.546293, 0.05, 6.018353},
		{0.7, 1.113781, 0.458568, 0.02, 5.862054},
		{1, 1.000000, 0.367879, 0.02, 5.642318},
	} {
		l := Response(PI{Kp: 2 * row.zeta, Ti: 2 * row.zeta}.At).Times(Integrator(1))
		p, err := Predict(l, Step{Plant: Integrator(1), Size: -1, Half: row.band, Horizon: 40}, Band{1e-4, 1e4})
		require.NoError(t, err)
		require.InDelta(t, -row.peak, p.Deviation, 1e-3)
		require.InDelta(t, row.tPeak, p.DeviationTime, 0.03)
		require.InDelta(t, row.reentry, p.Recovery.Value, 0.01)
		require.InDelta(t, -1, p.Area, 2e-3)
	}
}

// e^{−s}/s with 0.5(1 + 1/4s) and the load after the dead time: peak and
// settling by integration in 1 ms steps; the area is Ti/Kp = 8 exactly
// (Åström & Hägglund, PID Controllers, from memory).
func TestPredictedDipWithDeadTime(t *testing.T) {
	l := Response(PI{Kp: 0.5, Ti: 4, Delay: 1}.At).Times(Integrator(1))
	for _, row := range []struct{ share, settles float64 }{{0.05, 11.6821}, {0.02, 13.4580}} {
		p, err := Predict(l, Step{Plant: Integrator(1), Size: 1, Half: row.share * 1.89215, Horizon: 60}, Band{1e-4, 1e4})
		require.NoError(t, err)
		require.InDelta(t, 1.89215, p.Deviation, 1e-3)
		require.InDelta(t, 2.77622, p.DeviationTime, 0.05)
		require.InDelta(t, row.settles, p.Recovery.Value, 0.02)
		require.InDelta(t, 8, p.Area, 0.01)
	}
}

func TestProportionalOnlyLeavesAnOffset(t *testing.T) {
	l := Response(PI{Kp: 4, Ti: math.Inf(1)}.At).Times(Lag(1, 1))
	p, err := Predict(l, Step{Plant: Lag(1, 1), Size: -10, Half: 0.1, Horizon: 5}, Band{1e-4, 1e4})
	require.NoError(t, err)
	require.InDelta(t, -2, p.Y[len(p.Y)-1], 0.01) // 10/(1+4)
	require.InDelta(t, math.Log(20)/5, p.Recovery.Value, 0.02)
}

func TestNoPredictionOfAnUnstableLoop(t *testing.T) {
	_, err := Predict(Lag(20, 1).Times(Lag(1, 1)).Times(Lag(1, 1)),
		Step{Plant: Lag(1, 1), Size: 1, Half: 0.1, Horizon: 10}, wide)
	require.ErrorIs(t, err, ErrUnstable)
	_, err = Predict(Lag(1, 1), Step{}, wide)
	require.Error(t, err)
}

func TestTooShortAHorizonIsSaid(t *testing.T) {
	l := Response(PI{Kp: 0.4, Ti: 0.4}.At).Times(Integrator(1))
	p, err := Predict(l, Step{Plant: Integrator(1), Size: 1, Half: 0.05, Horizon: 10}, Band{1e-4, 1e4})
	require.NoError(t, err)
	require.False(t, p.Recovery.OK())
}
