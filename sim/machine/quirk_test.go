package machine

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/sim/standin/governor"
)

// Every quirk of the stand-in governor can be asked for by name in a machine
// file, and changes the governor.
func TestQuirksByName(t *testing.T) {
	text, err := os.ReadFile("../../testdata/machines/medium-15cc.yaml")
	require.NoError(t, err)
	healthy, err := Parse("medium", text)
	require.NoError(t, err)
	for _, q := range governor.Quirks {
		m, err := Parse("medium", append(text, "\nstand_in: {quirk: "+q.Name+"}\n"...))
		require.NoError(t, err)
		require.NotEqual(t, healthy.GovernorParams(16e6), m.GovernorParams(16e6), q.Name)
		require.NoError(t, m.GovernorParams(16e6).Validate())
	}
	_, err = Parse("medium", append(text, "\nstand_in: {quirk: haunted}\n"...))
	require.ErrorContains(t, err, "haunted")
	require.NotContains(t, strings.ToLower(string(text)), "quirk")
}
