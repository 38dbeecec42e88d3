package finding

import (
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure/response"
)

// A dead band is named where a larger change is passed on much more strongly, or
// alone; not where a gain grows with the error, nor where less is passed on.
func TestDeadBand(t *testing.T) {
	found, _, is := DeadBand(response.Comparison{Kind: response.DeadBand, Ratio: 5, Change: 9.2}, false)
	require.True(t, is)
	require.Contains(t, found, "5.0 times as large 9 dB more strongly")
	_, _, is = DeadBand(response.Comparison{}, true)
	require.True(t, is)
	for _, c := range []response.Comparison{
		{Kind: response.DeadBand, Ratio: 5, Change: 4.5},
		{Kind: response.Dependent, Ratio: 5, Change: -9},
		{Kind: response.Linear, Ratio: 5, Change: 0.1},
		{Kind: response.Untold},
	} {
		_, _, is := DeadBand(c, false)
		require.False(t, is, "%+v", c)
	}
}

// A throttle that stands quite still while the speed moves shows a dead band; not one
// that moves by its own step, one at its end, nor one whose engine is as still.
func TestStandsStill(t *testing.T) {
	at := func(shares ...float64) []float64 { return shares }
	_, _, is := StandsStill(at(0.4, 0.4001, 0.4), 0.006)
	require.True(t, is)
	for name, c := range map[string]struct {
		throttle []float64
		moved    float64
	}{
		"moves": {at(0.4, 0.4013, 0.4), 0.006}, "open": {at(1, 1, 1), 0.006}, "closed": {at(0, 0), 0.006},
		"calm": {at(0.4, 0.4), 0.002}, "none": {nil, 0.006},
	} {
		_, _, is := StandsStill(c.throttle, c.moved)
		require.False(t, is, name)
	}
}
