package loop

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// Of K·e^{−sT}/s, whose phase margin is 90° − K·T and whose gain margin π/(2·K·T)
// (any text-book), a share ε of gain takes K·T·ε of the phase margin and ε of the gain
// margin, and a phase φ takes itself of the one and φ/(π/2) of the other.
func TestUncertaintyOfKnownMargins(t *testing.T) {
	const k, dead, share, turned = 4.0, 0.1, 0.01, 0.5
	l := func(w float64) complex128 { return complex(k, 0) / complex(0, w) * Delay(dead)(w) }
	b := Band{Min: 0.1, Max: 100}
	of := func(s Spread) (phase, gain float64) {
		phase, gain, err := Uncertain(l, b, func(float64) Spread { return s })
		require.NoError(t, err)
		return phase, gain
	}
	phase, gain := of(Spread{Gain: share})
	require.InEpsilon(t, k*dead*share*180/math.Pi, phase, 0.02)
	require.InEpsilon(t, Decibels(1+share), gain, 0.02)
	phase, gain = of(Spread{Phase: turned})
	require.InEpsilon(t, turned, phase, 0.001)
	require.InEpsilon(t, Decibels(90/(90-turned)), gain, 0.02)
	both, _ := of(Spread{Gain: share, Phase: turned})
	require.InEpsilon(t, math.Hypot(k*dead*share*180/math.Pi, turned), both, 0.02)
}

// A margin that is there by a hair only, at the end of the band, may be lost: how sure
// it is cannot be told.
func TestMarginAtTheEndOfTheBand(t *testing.T) {
	l := func(w float64) complex128 { return 4 / complex(0, w) * Delay(0.1)(w) }
	at180 := math.Pi / 2 / 0.1
	_, gain, err := Uncertain(l, Band{Min: 0.1, Max: 1.0001 * at180}, func(float64) Spread { return Spread{Phase: 1} })
	require.NoError(t, err)
	require.True(t, math.IsInf(gain, 1))
	phase, gain, err := Uncertain(l, Band{Min: 0.1, Max: 0.9 * at180}, func(float64) Spread { return Spread{Phase: 1} })
	require.NoError(t, err)
	require.InDelta(t, 1, phase, 1e-3)
	require.Zero(t, gain, "there is none")
}
