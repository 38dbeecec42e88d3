package throttle

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig"
	"govrig/rig/execution"
	"govrig/rig/execution/openloop"
	"govrig/rig/measure"
	"govrig/rig/procedure/proceduretest"
)

// Frames of 20 ms, of which every other one comes early by some time and one in
// some is missing: jitter and missing frames are said beyond their limits only, and
// where the board itself lost pulses none are missed.
func TestFramesInWords(t *testing.T) {
	for name, c := range map[string]struct {
		early           float64 // s
		oneIn           int
		lost            int64
		jitters, misses bool
	}{
		"even":              {},
		"nearly jitters":    {early: 0.9e-3},
		"jitters":           {early: 1.1e-3, jitters: true},
		"nearly misses":     {oneIn: 60},
		"misses":            {oneIn: 40, misses: true},
		"the board's doing": {oneIn: 40, lost: 5},
	} {
		l := &throttleTest{Stand: &openloop.Stand{T: &execution.Test{
			Run: &execution.Run{}, Bench: &execution.Bench{}, Sheet: measure.NewSheet("throttle", true, lineMeasures(proceduretest.Medium(t))...), Health: rig.Health{LostCaptures: c.lost},
		}}}
		for i := range 241 {
			if c.oneIn > 0 && i%c.oneIn == c.oneIn/2 {
				continue
			}
			l.rest = append(l.rest, execution.Pulse{Start: 0.02*float64(i) - c.early*float64(i%2), Width: 1e-3})
		}
		l.readFrames(0)
		l.adviseFrames()
		words := strings.Join(l.T.Run.Found, "\n")
		require.Equal(t, c.jitters, strings.Contains(words, saysJitter), name)
		require.Equal(t, c.misses, strings.Contains(words, saysMissing), name)
		require.Equal(t, c.jitters || c.misses, len(l.T.Run.Next) > 0, name)
	}
}
