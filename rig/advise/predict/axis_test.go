package predict

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"govrig/sim/unit"
)

func TestValues(t *testing.T) {
	gain, time := unit.Gain(0).Dimension(), unit.Time(0).Dimension()
	krpm := 0.01 / (1000 * math.Pi / 30)
	for text, want := range map[string][]float64{
		"30":            {30 * krpm},
		"60, 15,30, 15": {15 * krpm, 30 * krpm, 60 * krpm},
		"0.03 %/rpm":    {30 * krpm},
		"10..40":        {10 * krpm, 20 * krpm, 40 * krpm},
		"40..10":        {10 * krpm, 20 * krpm, 40 * krpm},
		"10 .. 160/5":   {10 * krpm, 20 * krpm, 40 * krpm, 80 * krpm, 160 * krpm},
	} {
		got, err := Values(text, gain, "%/krpm", 3)
		require.NoError(t, err)
		require.InEpsilonSlice(t, want, got, 1e-12, text)
	}
	got, err := Values("0,400 ms,1.5", time, "s", 3)
	require.NoError(t, err)
	require.Equal(t, []float64{0, 0.4, 1.5}, got)
}

func TestValuesThatAreNone(t *testing.T) {
	d := unit.Time(0).Dimension()
	for text, want := range map[string]string{
		"":           "is not a number",
		"1,,2":       "is not a number",
		"x":          "is not a number",
		"NaN":        "is not a number",
		"3 mm":       "is a length",
		"1..":        "is not a number",
		"0..1":       "two ends",
		"1..1":       "two ends",
		"1,2..3":     "two ends",
		"1..2/1":     "2 to 40",
		"1..2/41":    "2 to 40",
		"1..2/a":     "2 to 40",
		"-5..-1":     "two ends",
		"1e400":      "is too large",
		manyValues(): "41 values",
	} {
		_, err := Values(text, d, "s", 3)
		require.ErrorContains(t, err, want, text)
	}
}

// manyValues is a list of one value too many.
func manyValues() string {
	var all []string
	for i := range MostValues + 1 {
		all = append(all, strconv.Itoa(i))
	}
	return strings.Join(all, ",")
}

// A range runs from end to end in even ratios.
func TestRangesAreEvenInRatio(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		low := rapid.IntRange(1, 1000).Draw(t, "low")
		high := low + rapid.IntRange(1, 1000).Draw(t, "more")
		n := rapid.IntRange(2, MostValues).Draw(t, "n")
		v, err := Values(unitText(low)+".."+unitText(high), unit.Time(0).Dimension(), "s", n)
		require.NoError(t, err)
		require.Len(t, v, n)
		require.Equal(t, float64(low), v[0])
		require.InEpsilon(t, float64(high), v[n-1], 1e-12)
		for i := 2; i < n; i++ {
			require.InEpsilon(t, v[1]/v[0], v[i]/v[i-1], 1e-9)
		}
	})
}

func unitText(n int) string { return unit.Time(0).Dimension().Format(float64(n), "s") }
