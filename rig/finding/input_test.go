package finding

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// One that passes the stick through, with other ends than the stick's, and those
// that nearly do.
func TestPassesStick(t *testing.T) {
	at := func(stick, low, high float64) StickPoint { return StickPoint{stick, low, high} }
	for name, c := range map[string]struct {
		points []StickPoint
		want   Verdict
	}{
		"follows":                         {[]StickPoint{at(1, 0.99, 1), at(0.6, 0.6, 0.6), at(0.6, 0.61, 0.61)}, Yes},
		"follows with ends of its own":    {[]StickPoint{at(0.6, 0.5, 0.5), at(1, 0.8, 0.8)}, Yes},
		"one stick tells nothing":         {[]StickPoint{at(0.6, 0.6, 0.6), at(0.6, 0.6, 0.6)}, CannotTell},
		"nothing at all":                  {nil, CannotTell},
		"shuts without pulses":            {[]StickPoint{at(0.6, 0, 0), at(1, 0, 0)}, No},
		"stays where it was":              {[]StickPoint{at(0.6, 0.3, 0.3), at(1, 0.3, 0.3)}, No},
		"pulses make a difference":        {[]StickPoint{at(0.6, 0.6, 0.6), at(0.6, 0.8, 0.8), at(1, 1, 1)}, No},
		"moves by itself at one stick":    {[]StickPoint{at(0.6, 0.6, 0.75), at(1, 1, 1)}, No},
		"follows below, shuts at the end": {[]StickPoint{at(0.6, 0.6, 0.6), at(1, 0, 0)}, No},
	} {
		require.Equal(t, c.want, PassesStick(c.points), name)
	}
}

func TestSelectWorks(t *testing.T) {
	at14, wider := Crossing{13_800, 14_200}, Crossing{14_100, 14_500}
	above := Crossing{15_000, 15_500}
	require.Equal(t, Yes, SelectWorks(false, true, Crossing{}, Crossing{}))
	require.Equal(t, No, SelectWorks(true, true, at14, wider))
	require.Equal(t, CannotTell, SelectWorks(true, true, at14, above), "another speed for another setting")
	require.Equal(t, CannotTell, SelectWorks(true, true, at14, Crossing{}), "the one was not found")
	require.Equal(t, CannotTell, SelectWorks(false, false, Crossing{}, Crossing{}))
}

func TestNarrowestHeard(t *testing.T) {
	heard, deaf, ok := NarrowestHeard([]Try{{200e-6, false}, {1e-3, true}, {500e-6, false}, {2e-3, true}})
	require.True(t, ok)
	require.InDelta(t, 1e-3, heard, 0)
	require.InDelta(t, 500e-6, deaf, 0)
	for name, tries := range map[string][]Try{
		"all":                 {{200e-6, true}, {1e-3, true}},
		"none":                {{200e-6, false}, {1e-3, false}},
		"not by width":        {{200e-6, true}, {1e-3, false}, {2e-3, true}},
		"the same width both": {{1e-3, true}, {1e-3, false}},
	} {
		_, _, ok := NarrowestHeard(tries)
		require.False(t, ok, name)
	}
}
