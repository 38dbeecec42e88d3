package report

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
)

// A lower bound is shown as one, a measure as it is; how sure it is stands with what it
// means.
func TestBoundsAreShownAsBounds(t *testing.T) {
	sheet := measure.NewSheet("sweep", true, measure.Declaration{Name: "a", Unit: "dB"}, measure.Declaration{Name: "b", Unit: "dB", Meaning: "B.", Convention: "C"})
	bound := measure.Read(20)
	bound.AtLeast = true
	sheet.Take("a", bound)
	sure := measure.Read(12)
	sure.Uncertainty = 0.2
	sheet.Take("b", sure)
	rows := Rows(sheet.Result())
	require.Equal(t, "≥ 20", rows[0].Value)
	require.Equal(t, "12", rows[1].Value)
	var b strings.Builder
	table(&b, sheet.Result().Measures)
	require.Contains(t, b.String(), "≥ 20")
	require.Contains(t, b.String(), "sure to ±0.2 dB, in 19 cases of 20")
	require.Equal(t, 1, strings.Count(b.String(), "sure to"))
	require.InDelta(t, 0.2, sheet.Result().Measures[1].Uncertainty, 1e-12)
}
