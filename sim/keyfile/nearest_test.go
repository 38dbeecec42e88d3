package keyfile

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestNearestWord(t *testing.T) {
	words := []string{"displacement", "idle_speed", "gap", "kind"}
	require.Equal(t, "displacement", Nearest("displacment", words))
	require.Equal(t, "idle_speed", Nearest("IdleSpeed", words))
	require.Equal(t, "gap", Nearest("gpa", []string{"gap"}))
	require.Empty(t, Nearest("wingspan", words))
	// The standard example of edit distance (Wagner and Fischer, J. ACM 21,
	// 1974, have the method; the pair is folklore): three changes.
	require.Equal(t, 3, distance("kitten", "sitting"))
	require.Equal(t, 0, distance("", ""))
	require.Equal(t, 4, distance("", "rpm4"))
}
