package governed

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig"
	"govrig/rig/phase"
)

// swayed is the speed that sines give at a step.
func swayed(sines []rig.Sine, n float64) (sum float64) {
	for _, l := range sines {
		sum += l.Amplitude * math.Sin(2*math.Pi*(l.Frequency*n+l.Phase))
	}
	return sum
}

// A sway comes up and dies away by half a period of a cosine (a Hann window, any
// text-book), with no leap between the phases.
func TestSwayFades(t *testing.T) {
	sway := rig.Phase{Steps: 30_011, Sway: []rig.Sine{
		{Amplitude: 3, Frequency: 2. / 32_000, Phase: 0.25}, {Amplitude: 2, Frequency: 64. / 32_000, Phase: 0.7},
	}}
	var g Governor
	up, down := g.fade(phase.Of(phase.Before), &sway, true), g.fade(phase.Of(phase.After), &sway, false)
	require.EqualValues(t, fadeSteps, up.Steps)
	for n := 0.0; n <= fadeSteps; n += 50 {
		rise := (1 - math.Cos(math.Pi*n/fadeSteps)) / 2
		require.InDelta(t, rise*swayed(sway.Sway, n-fadeSteps), swayed(up.Sway, n), 1e-9)
		require.InDelta(t, (1-rise)*swayed(sway.Sway, n+float64(sway.Steps)), swayed(down.Sway, n), 1e-9)
	}
	for _, l := range append(up.Sway, down.Sway...) {
		require.NotZero(t, l.Frequency, "its angle would have no end")
	}
}

// Sines near a crossing lie at whole harmonics of the period, in order, each once.
func TestSinesNearACrossing(t *testing.T) {
	s := Swaying{Period: 8, Near: []float64{9.6, 0.51, 0.5, 0.01}}
	require.Equal(t, []int{1, 4, 77}, s.harmonics())
	require.Len(t, Quick.harmonics(), 13) // two of fourteen fall on one harmonic
}
