package finding

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestBeyondBlades(t *testing.T) {
	sentence, beyond := BeyondBlades(2101, 2100)
	require.True(t, beyond)
	require.Contains(t, sentence, "The head reached 2101 rpm, and the blade maker allows 2100")
	for _, c := range [][2]float64{{2100, 2100}, {2099, 2100}, {9000, 0}} { // nearly so, and not known
		sentence, beyond = BeyondBlades(c[0], c[1])
		require.False(t, beyond)
		require.Empty(t, sentence)
	}
}
