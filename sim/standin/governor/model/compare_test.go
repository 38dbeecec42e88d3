package model

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/sim/unit"
)

// A value differs where its difference is more than two standard uncertainties of it,
// and not just below that (JCGM 100, 6.2.1, from memory).
func TestCompare(t *testing.T) {
	verdict := func(b *Gain) Verdict {
		other := known()
		other.Law.Gain = b
		for _, d := range Compare(known(), other) {
			if d.A.Path == "law.proportional_gain" {
				return d.Verdict
			}
		}
		return ""
	}
	const u = 0.002 * perKrpm // of both, so that of the difference is √2 of it
	require.Equal(t, Same, verdict(Known[unit.Gain](0.3*perKrpm+2.7*u, u, "")))
	require.Equal(t, Moved, verdict(Known[unit.Gain](0.3*perKrpm+2.9*u, u, "")))
	require.Equal(t, Single, verdict(nil))

	bare := &Model{}
	bare.Law.Gain = Known[unit.Gain](1, 0, "")
	other := &Model{}
	other.Law.Gain = Known[unit.Gain](1.001, 0, "")
	require.Equal(t, Untold, Compare(bare, other)[0].Verdict)
	require.Len(t, Compare(bare, other), 1)
}

func TestWriteComparison(t *testing.T) {
	a, b := known(), known()
	var text strings.Builder
	require.NoError(t, WriteComparison(&text, a, b))
	require.Contains(t, text.String(), "Nothing differs by more than")
	require.Contains(t, text.String(), "(virtual: no real governor)")
	b.Faults.OnLoss = "opens"
	text.Reset()
	require.NoError(t, WriteComparison(&text, a, b))
	require.Contains(t, text.String(), "One value differs")
	require.Contains(t, text.String(), "holds            opens   differs")
}
