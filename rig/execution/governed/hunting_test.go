package governed

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/measure/hunting"
)

// What a swing can be at most, where it cannot be told to be hunting, is no more
// than the speed wanders; and of a small one that was seen, half as much again.
func TestASwingAtMost(t *testing.T) {
	part := func(around, slow float64) *execution.Trace {
		var p execution.Trace
		for i := range 5000 {
			at := float64(i) / 500
			p.Time = append(p.Time, at)
			p.Speed = append(p.Speed, 13_000+around*math.Sin(4*math.Pi*at)+slow*math.Sin(0.1*math.Pi*at))
		}
		return &p
	}
	for name, c := range map[string]struct {
		around, slow, amplitude float64
		passes                  bool
	}{
		"still":                     {10, 0, 0, true},
		"wanders":                   {100, 0, 0, false},
		"a small one was seen":      {40, 0, 20, true},
		"a large one was seen":      {40, 0, 40, false},
		"a slower one may be there": {20, 130, 20, false},
	} {
		s := Swing{Finding: hunting.Finding{Kind: hunting.Unknown, Amplitude: c.amplitude}, part: part(c.around, c.slow), To: 5000}
		most, ok := s.most(13_000)
		require.True(t, ok)
		require.Equal(t, c.passes, most <= MostHunting, "%s: %g", name, most)
	}
}
