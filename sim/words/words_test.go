package words

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestNumber(t *testing.T) {
	for v, want := range map[float64]string{
		0: "0", 14386.7: "14387", 1660.04: "1660", -5.55126: "-5.551", 0.000539: "0.000539", 12: "12", 0.5: "0.5", 1000.4: "1000",
		16000.4: "16000", 1.23456: "1.235", 0.0020304: "0.00203", 100: "100", 1e-12: "0", -1e-12: "0", 9999.7: "10000", 0.000312541: "0.0003125",
	} {
		require.Equal(t, want, Number(v))
	}
	for v, want := range map[float64]string{1.23456: "1.23", -5.55126: "-5.55", 12345: "12345", 69.96: "70", 0: "0"} {
		require.Equal(t, want, Short(v))
	}
}

// IEEE 754 has a zero with a sign and values that are no number; none of them
// becomes a sign without a figure.
func TestNumberThatIsNone(t *testing.T) {
	require.Equal(t, "0", Number(math.Copysign(0, -1)))
	require.Equal(t, "NaN", Number(math.NaN()))
	require.Equal(t, "-Inf", Number(math.Inf(-1)))
}

// The decimals of a label are those of its step, and nothing has no sign.
func TestStepped(t *testing.T) {
	for _, c := range []struct {
		v, step float64
		want    string
	}{{-0.1, 0.1, "−0.1"}, {-1e-17, 0.1, "0.0"}, {0.30000000000000004, 0.1, "0.3"}, {1500, 100, "1500"}, {0.25, 0.05, "0.25"}, {-90, 45, "−90"}, {1, 1, "1"}} {
		require.Equal(t, c.want, Stepped(c.v, c.step))
	}
}

// SI Brochure, 9th edition, 5.4.3: a space before every unit, % too, but none
// before the degree sign of an angle. A count has no unit.
func TestWithUnit(t *testing.T) {
	require.Equal(t, "3 %", WithUnit("3", "%"))
	require.Equal(t, "45°", WithUnit("45", "°"))
	require.Equal(t, "7", WithUnit("7", "1"))
	require.Equal(t, "7", WithUnit("7", ""))
}

// A hyphen before a figure is a minus; one in a word, a range or a date is not.
func TestMinus(t *testing.T) {
	require.Equal(t, "−3 to −1 (−2), ±−4", Minus("-3 to -1 (-2), ±-4"))
	for _, same := range []string{"2026-11-28", "load-step", "3-5", "- item", "a -b"} {
		require.Equal(t, same, Minus(same))
	}
}

func TestWrap(t *testing.T) {
	require.Equal(t, "a: one two\n   three\n", Wrap("a: ", "   ", " one  two\nthree ", 11))
	require.Equal(t, "# word\n# word\n", Wrap("# ", "# ", "word word", 3), "a word wider than the line stands alone")
	require.Equal(t, "a:\n", Wrap("a: ", "", "", 10))
	require.Equal(t, "  a: b\n", Indent("  a: ", "b"))
}

// Whatever the words, each comes once and in order, and no line is wider than
// asked but for a single word.
func TestWrapKeepsWordsAndWidth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := rapid.SliceOfN(rapid.StringMatching(`[a-zåµ°−]{1,30}`), 0, 60).Draw(t, "words")
		for name, text := range map[string]string{"hang": Hang("- ", strings.Join(all, " ")), "indent": Indent("- ", strings.Join(all, " "))} {
			lines := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
			var back []string
			for _, line := range lines {
				require.LessOrEqual(t, Width(line), Columns, name)
				back = append(back, strings.Fields(line)...)
			}
			require.Equal(t, append([]string{"-"}, all...), back)
		}
	})
}

// Padding counts what is seen, not bytes.
func TestPadding(t *testing.T) {
	require.Equal(t, "  µ", Left("µ", 3))
	require.Equal(t, "µ  ", Right("µ", 3))
	require.Equal(t, "four", Left("four", 3))
}

func TestCountsAndZeros(t *testing.T) {
	require.Equal(t, "1 pulse", Count(1, "pulse"))
	require.Equal(t, "2 pulses", Count(2, "pulse"))
	require.Equal(t, "0 rows", Count(0, "row"))
	for from, to := range map[string]string{
		"off by -0 %": "off by 0 %", "(-0.0 to 2)": "(0.0 to 2)", "−0.00": "0.00", "-0.04 %": "-0.04 %", "10-0 %": "10-0 %", "-05": "-05",
	} {
		require.Equal(t, to, Unsigned(from))
	}
}
