package bound_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/sim/bound"
)

func TestFirstErrorIsKeptAndCanBeMatched(t *testing.T) {
	err := bound.Of("rotor").
		Field("Chord", 0.05, 0.01, 0.2, "m").
		Field("Radius", -1, 0.1, 3, "m").
		Field("Blades", 99, 1, 8, "").
		Err()
	var e *bound.Error
	require.ErrorAs(t, err, &e)
	require.Equal(t, "Radius", e.Field)
	require.EqualError(t, err, "rotor: Radius is -1 m, outside 0.1 to 3 m")
}

func TestEndsAreInsideAndNaNIsOutside(t *testing.T) {
	require.NoError(t, bound.Of("x").Field("A", 1, 1, 2, "").Field("A", 2, 1, 2, "").Err())
	require.Error(t, bound.Of("x").Field("A", math.NaN(), 1, 2, "").Err())
	require.EqualError(t, bound.Of("x").Field("A", math.Inf(1), 1, 2, "").Err(), "x: A is +Inf, outside 1 to 2")
}
