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
