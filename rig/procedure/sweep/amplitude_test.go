package sweep

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure"
	"govrig/rig/measure/loop"
	"govrig/rig/measure/response"
	"govrig/rig/procedure/proceduretest"
)

// told is what is said of a point.
func told(t *testing.T, p SweepPoint) string {
	m := proceduretest.Medium(t)
	p.Setting, p.Load = m.Speeds[0], measure.Light
	p.Margins.Crossover = measure.Read(3)
	run := &execution.Run{}
	s := Sweep{Share: sweepShare}
	s.tell(&execution.Test{Bench: &execution.Bench{Machine: m}, Run: run}, &p)
	return strings.Join(append(run.Found, run.Next...), "\n")
}

// What is said of two amplitudes is what they show: a dead band is named where one was
// found, hinted at where more passes and too little stands out, and else not spoken of.
func TestWhatTwoAmplitudesSay(t *testing.T) {
	const dead = "dead band"
	for name, c := range map[string]struct {
		p      SweepPoint
		says   string
		band   bool
		margin bool
	}{
		"found":       {SweepPoint{DeadBand: 0.008, Response: make([]response.Point, 4), Amplitudes: response.Comparison{Kind: response.DeadBand}}, "a dead band of about ±0.8 %", true, false},
		"elsewhere":   {SweepPoint{DeadBand: 0.008}, "", false, false},
		"more passes": {SweepPoint{Amplitudes: response.Comparison{Kind: response.Untold, Change: 3}}, "a dead band would do that, and so would chance", true, false},
		"less passes": {SweepPoint{Amplitudes: response.Comparison{Kind: response.Untold, Change: -3}}, "too few sines stand out", false, false},
		"by steps":    {SweepPoint{coarse: true, Amplitudes: response.Comparison{Kind: response.Untold, Change: 3}}, "too few sines stand out", false, false},
		"another":     {SweepPoint{Amplitudes: response.Comparison{Kind: response.Dependent, Worst: -3}}, "the response is another", false, true},
		"from there":  {SweepPoint{share: 2 * sweepShare, Amplitudes: response.Comparison{Kind: response.Linear}}, "linear enough from an excitation", false, true},
		"the same":    {SweepPoint{share: sweepShare, Amplitudes: response.Comparison{Kind: response.Linear}}, "The governor is linear enough: ", false, true},
	} {
		said := told(t, c.p)
		require.Contains(t, said, c.says, name)
		require.Equal(t, c.band, strings.Contains(said, dead), "%s: %s", name, said)
		require.Equal(t, c.margin, c.p.WhyNoMargins() == "", name)
	}
}

// A throttle that would come to its ends has no room for a wider sway; one in the
// middle has.
func TestRoomForAWiderSway(t *testing.T) {
	for _, c := range []struct {
		low, mean, high float64
		room            bool
	}{{0.3, 0.4, 0.5, true}, {0.15, 0.25, 0.35, true}, {0.05, 0.15, 0.25, false}, {0.6, 0.8, 0.95, false}} {
		w := governed.Swayed{Low: c.low, Mean: c.mean, High: c.high}
		require.Equal(t, c.room, w.Room(wider), "%+v", c)
	}
}

// How sure a margin is goes with it, or the reason why that is not known; margins that
// are sure enough are not measured again.
func TestHowSureAMargin(t *testing.T) {
	p := SweepPoint{top: 20, phaseDoubt: 0.5, gainDoubt: 0.1}
	p.Margins = loop.Margins{
		Phase: measure.Read(60), Crossover: measure.Read(2 * math.Pi), Gain: measure.Read(4), PhaseCrossover: measure.Read(12 * math.Pi),
	}
	require.InDelta(t, 0.5, p.phaseMargin().Uncertainty, 1e-12)
	require.Empty(t, p.unsure(1))
	p.phaseDoubt, p.gainDoubt = 1, math.Inf(1)
	require.InDeltaSlice(t, []float64{1, 6}, p.unsure(1), 1e-9)
	require.Zero(t, p.gainMargin().Uncertainty)
	require.Contains(t, p.gainMargin().Warnings[0], "how sure it is cannot be told")
	p.top = 6
	require.InDeltaSlice(t, []float64{1}, p.unsure(1), 1e-9, "too quick to be played")
}
