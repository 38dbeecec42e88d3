package finding

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// A throttle with two places is named; not one that goes between its ends, one that
// is seen on the way now and then, one that was at the other place for a moment, nor
// one whose places are two steps of a fine output.
func TestTwoThrottles(t *testing.T) {
	between := func(low, high, middle float64, every int) (throttle []float64) {
		for i := range 1000 {
			switch {
			case middle > 0 && i%10 == 0:
				throttle = append(throttle, middle)
			case i/100%every == 0:
				throttle = append(throttle, low)
			default:
				throttle = append(throttle, high)
			}
		}
		return throttle
	}
	found, _, is := TwoThrottles(between(0.15, 0.8, 0, 2))
	require.True(t, is)
	require.Contains(t, found, "at 15 % or at 80 % and nowhere between")
	for name, throttle := range map[string][]float64{
		"ends": between(0, 1, 0, 2), "on the way": between(0.15, 0.8, 0.4, 2), "a moment": between(0.15, 0.8, 0, 11)[100:],
		"fine": between(0.40, 0.43, 0, 2), "none": nil,
	} {
		_, _, is := TwoThrottles(throttle)
		require.False(t, is, name)
	}
}
