package loop

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// 4/(s+1)³ has a gain margin of exactly 2 (Routh), so k/(s+1)³ keeps a gain
// margin of 4 when 4 is halved; e^{−0.2s}·2/s keeps 60° at ωc = π/6/0.2.
func TestFactorThatReachesATarget(t *testing.T) {
	lag3 := Lag(4, 1).Times(Lag(1, 1)).Times(Lag(1, 1))
	i, err := Within(lag3, wide, Target{Gain: 4})
	require.NoError(t, err)
	require.InDelta(t, 0.5, i.High, 1e-6)

	b := Response(PI{Kp: 2, Ti: 1, Delay: 0.2}.At).Times(Lag(1, 1))
	i, err = Within(b, wide, Target{Phase: 60})
	require.NoError(t, err)
	require.InDelta(t, math.Pi/6/0.2/2, i.High, 1e-6)
}

// With PI control of an inertia too little gain costs margin as well: the
// phase margin is atan(ωc·Ti).
func TestTooLittleGainIsNoAnswer(t *testing.T) {
	l := Response(PI{Kp: 1, Ti: 1, Delay: 0.05}.At).Times(Integrator(1))
	i, err := Within(l, wide, Target{Phase: 45})
	require.NoError(t, err)
	require.Greater(t, i.Low, 0.1)
	require.Greater(t, i.High, i.Low)
	for _, k := range []float64{i.Low, i.High} {
		m, err := MarginsOf(l.Scaled(k), wide)
		require.NoError(t, err)
		require.InDelta(t, 45, m.Phase.Value, 1e-4)
	}
	_, err = Within(l, wide, Target{Phase: 85})
	require.ErrorContains(t, err, "no gain reaches")
}

func TestAdviceAlwaysReachesItsTarget(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := Response(PI{
			Kp:    rapid.Float64Range(0.2, 5).Draw(t, "kp"),
			Ti:    rapid.Float64Range(0.5, 5).Draw(t, "ti"),
			Delay: rapid.Float64Range(0.01, 0.1).Draw(t, "delay"),
		}.At).Times(Lag(1, rapid.Float64Range(0.3, 2).Draw(t, "lag")))
		phase := rapid.Float64Range(30, 60).Draw(t, "phase")
		a, err := Advise([]Point{{Name: "p", Loop: l, Band: wide}}, Wish{Target: Target{Phase: phase}, Band: wide})
		require.NoError(t, err)
		if !a.Factor.OK() {
			return
		}
		m, err := MarginsOf(l.Scaled(a.Factor.Value), wide)
		require.NoError(t, err)
		require.True(t, m.stable())
		require.GreaterOrEqual(t, m.Phase.Value, phase-1e-4)
	})
}

func points(slopes ...float64) []Point {
	var p []Point
	for i, slope := range slopes {
		l := Response(PI{Kp: slope, Ti: 1, Delay: 0.1}.At).Times(Lag(1, 1))
		p = append(p, Point{
			Name: string(rune('a' + i)),
			Loop: l, Model: l, Band: wish.Band,
			Load:   Step{Plant: Lag(100, 1), Size: -1, Half: 2, Horizon: 10},
			Slope:  slope,
			Spread: func(float64) Spread { return Spread{Gain: 0.05, Phase: 2} },
		})
	}
	return p
}

var wish = Wish{Target: Target{Phase: 45}, Band: Band{1e-4, 1e4}}

// L = Kp·e^{−0.1s}/s: 45° at ωc = π/4/0.1 = 7.854 rad/s.
func TestEvenLinkageFitsOneGain(t *testing.T) {
	a, err := Advise(points(2, 2.2, 2.4), wish)
	require.NoError(t, err)
	require.True(t, a.OneGainFits)
	require.Equal(t, "c", a.Governing)
	require.InDelta(t, math.Pi/4/0.1/2.4, a.Factor.Value, 1e-5)
	require.InDelta(t, 1.2, a.Ratio.Value, 1e-6)
	require.Less(t, math.Abs(a.Points[0].After.Deviation), math.Abs(a.Points[0].Before.Deviation),
		"more gain, less dip")
	// 5 % of gain and 2° of phase, two standard deviations: 41° to 49° over 45°.
	require.Contains(t, a.Factor.Detail, "2.71 to 3.96")
}

func TestUnevenLinkageIsUnfitAndSaysWhy(t *testing.T) {
	a, err := Advise(points(2, 4, 8), wish)
	require.NoError(t, err)
	require.False(t, a.OneGainFits)
	require.Equal(t, "c", a.Governing)
	require.InDelta(t, 4, a.Ratio.Value, 1e-6)
	require.InDelta(t, 1, a.StraightRatio.Value, 1e-6)
	require.Contains(t, a.Reasons[len(a.Reasons)-1], "slope of the linkage")
}

func TestLimitsDecideWhereTheyAreGiven(t *testing.T) {
	w := wish
	w.MostDip = 100
	a, err := Advise(points(2, 4, 8), w)
	require.NoError(t, err)
	require.True(t, a.OneGainFits, "every dip is small enough")
	w.MostDip = 5
	a, err = Advise(points(2, 4, 8), w)
	require.NoError(t, err)
	require.False(t, a.OneGainFits)
}

func TestNoAdviceWithoutMeasurement(t *testing.T) {
	_, err := Advise(nil, wish)
	require.Error(t, err)
	unknown := points(1)
	unknown[0].Band = Band{}
	_, err = Advise(unknown, wish)
	require.ErrorIs(t, err, ErrBand)
	w := wish
	w.Target = Target{Phase: 120}
	a, err := Advise(points(1), w)
	require.NoError(t, err)
	require.False(t, a.Factor.OK())
	require.False(t, a.OneGainFits)
}
