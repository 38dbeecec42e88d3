package finding

import (
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
	"govrig/rig/measure/hunting"
)

// Each cause is said where it is likely, with its numbers, and not where it is
// anything less; nor is delay where it is that of usual servo frames.
func TestHuntingCause(t *testing.T) {
	read := measure.Read
	for name, c := range map[string]struct {
		source   hunting.Source
		evidence hunting.Evidence
		says     string // empty says nothing
	}{
		"gain":         {hunting.Margin, hunting.Evidence{Phase: read(3), Gain: read(1.05), Frequency: read(4.1)}, "is the gain: measured by itself, the governor leaves its loop with this machine 3° and 0.4 dB"},
		"phase alone":  {hunting.Margin, hunting.Evidence{Phase: read(-3), Gain: measure.Missing("none"), Frequency: read(4.1)}, "-3° of margin"},
		"integral":     {hunting.Margin, hunting.Evidence{Phase: read(3), Gain: read(8), Frequency: read(0.5)}, "is the integral"},
		"slow frames":  {hunting.Late, hunting.Evidence{Turned: read(72), Frequency: read(4)}, "after 50 ms"},
		"usual frames": {hunting.Late, hunting.Evidence{Turned: read(43), Frequency: read(4)}, ""},
		"play":         {hunting.Play, hunting.Evidence{Frequency: read(0.5), Amplitude: read(60)}, "throttle_servo.backlash"},
		"coarse":       {hunting.Resolution, hunting.Evidence{Steps: read(2), Amplitude: read(15)}, "2 of its own steps"},
		"wind-up":      {hunting.WindUp, hunting.Evidence{AtEnds: read(0.3), Phase: read(50), Gain: read(3)}, "for 30 % of the time, although the loop has margin enough (50° and 9.5 dB"},
		"dropouts":     {hunting.Dropouts, hunting.Evidence{Lost: read(9)}, "9 times"},
		"rough":        {hunting.Roughness, hunting.Evidence{Share: read(0.2)}, "no more than 20 %"},
	} {
		found, next, said := HuntingCause(hunting.Cause{Source: c.source, Verdict: hunting.Likely, Evidence: c.evidence})
		require.Equal(t, c.says != "", said, name)
		require.Contains(t, found, c.says, name)
		require.Equal(t, said, next != "", name)
		for _, v := range []hunting.Verdict{hunting.Unlikely, hunting.Untold} {
			_, _, said := HuntingCause(hunting.Cause{Source: c.source, Verdict: v, Evidence: c.evidence})
			require.False(t, said, name)
		}
	}
}

// An engine is only called weak with the throttle at its open end, the speed well
// below the wanted, and a machine file by which it cannot hold the load.
func TestWeak(t *testing.T) {
	open, nearly := []float64{1, 1, 0.99, 1}, []float64{0.9, 0.95, 0.9, 0.95}
	found, next, is := Weak(12_000, 13_000, open, false)
	require.True(t, is)
	require.Contains(t, found, "12000 rpm where 13000")
	require.Contains(t, next, "engine.mean_effective_pressure")
	for name, c := range map[string]struct {
		speed    float64
		throttle []float64
		canHold  bool
	}{
		"engine able":         {12_000, open, true},
		"throttle not at end": {12_000, nearly, false},
		"speed is held":       {12_900, open, false},
	} {
		_, _, is := Weak(c.speed, 13_000, c.throttle, c.canHold)
		require.False(t, is, name)
	}
}
