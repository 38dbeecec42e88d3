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

func TestOneSidedRanges(t *testing.T) {
	for value, wrong := range map[float64][2]string{
		1:           {"", ""},
		0:           {"x: A is 0 m, not above 0", ""},
		-1:          {"x: A is -1 m, not above 0", "x: A is -1 m, below 0 or no number"},
		math.Inf(1): {"x: A is +Inf m, not above 0", "x: A is +Inf m, below 0 or no number"},
	} {
		for i, err := range []error{bound.Of("x").Positive("A", value, "m").Err(), bound.Of("x").NotNegative("A", value, "m").Err()} {
			if wrong[i] == "" {
				require.NoError(t, err)
			} else {
				require.EqualError(t, err, wrong[i])
			}
		}
	}
	require.EqualError(t, bound.Of("x").Field("A", 1, 2, math.MaxFloat64, "s").Err(), "x: A is 1 s, below 2 s or no number")
}

func TestEndsAreInsideAndNaNIsOutside(t *testing.T) {
	require.NoError(t, bound.Of("x").Field("A", 1, 1, 2, "").Field("A", 2, 1, 2, "").Err())
	require.Error(t, bound.Of("x").Field("A", math.NaN(), 1, 2, "").Err())
	require.EqualError(t, bound.Of("x").Field("A", math.Inf(1), 1, 2, "").Err(), "x: A is +Inf, outside 1 to 2")
}
