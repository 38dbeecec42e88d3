package finding

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// A sag that no dead band makes is a droop; of a small one it cannot be told.
func TestDroop(t *testing.T) {
	found, _ := Droop(3.2)
	require.Contains(t, found, "3.2 % lower: the governor does not bring it back")
	found, _ = Droop(1.6)
	require.Contains(t, found, "1.6 % lower; why cannot be told")
}
