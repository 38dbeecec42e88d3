package rig

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// A sway that was worked out before is what it would be now, in whatever order
// steps of whatever phases are looked at.
func TestSwaysAreRemembered(t *testing.T) {
	s := Script{step: 1e-3, Phases: []Phase{
		{Sway: []Sine{{Amplitude: 3, Frequency: 0.002, Phase: 0.25}}},
		{},
		{Sway: []Sine{{Amplitude: 1, Frequency: 0.01}, {Amplitude: 2, Frequency: 0.03, Phase: 0.4}}},
	}}
	rapid.Check(t, func(t *rapid.T) {
		phase := rapid.IntRange(0, 2).Draw(t, "phase")
		n := rapid.Int64Range(0, 300).Draw(t, "n")
		speed, angle := s.Phases[phase].sway(n, s.step)
		gotSpeed, gotAngle := s.sway(phase, n)
		require.Equal(t, speed, gotSpeed)
		require.Equal(t, angle, gotAngle)
	})
}
