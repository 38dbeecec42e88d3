package engine

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// The first outputs for the seed 1234567, as printed at Rosetta Code under
// "Pseudo-random numbers/Splitmix64".
func TestSplitmixReference(t *testing.T) {
	s := splitmix(1234567)
	for _, want := range []uint64{
		6457827717110365317, 3203168211198807973, 9817491932198370423,
		4593380528125082431, 16408922859458223821,
	} {
		require.Equal(t, want, s.next())
	}
}
