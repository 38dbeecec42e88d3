package firmware

import (
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// definitions reads the names that a C header defines as what the expression
// matches.
func definitions(t *testing.T, header, expression string) map[string]string {
	text, err := os.ReadFile(header)
	require.NoError(t, err)
	found := map[string]string{}
	for _, m := range regexp.MustCompile(`(?m)^#define (`+expression).FindAllStringSubmatch(string(text), -1) {
		found[m[1]] = m[2]
	}
	require.NotEmpty(t, found)
	return found
}

func TestVersionIsThatOfTheSources(t *testing.T) {
	for name, number := range definitions(t, "firmware/board.h", `FIRMWARE_M\w+) (\d+)U`) {
		want := map[string]int{"FIRMWARE_MAJOR": Major, "FIRMWARE_MINOR": Minor}[name]
		require.Equal(t, strconv.Itoa(want), number, name)
	}
}

// The table of pins in README says what the sources do.
func TestWiringNamesThePinsOfTheSources(t *testing.T) {
	readme, err := os.ReadFile("README.md")
	require.NoError(t, err)
	rows := map[string]string{} // line to chip pin
	for _, row := range regexp.MustCompile(`(?m)^\| ([DA]\d+) \| (P[BCD]\d) \| (.+?) \|`).FindAllStringSubmatch(string(readme), -1) {
		require.Equal(t, row[2], portOf(t, row[1]), "the board's pin %s", row[1])
		rows[row[3]] = row[2]
	}
	for name, line := range map[string]string{
		"PIN_PICKUP": "pickup line, out", "PIN_STICK": "stick line, out", "PIN_SELECT": "select line, out",
		"PIN_THROTTLE": "throttle line, in", "PIN_PROBE": "pickup probe, in",
	} {
		require.Equal(t, definitions(t, "firmware/board.h", `PIN_\w+) (P[BCD]\d)`)[name], rows[line], line)
	}
}

// portOf gives the chip's name of a pin as the usual boards print it: D0 to D7
// are port D, D8 to D13 port B, A0 to A5 port C.
func portOf(t *testing.T, pin string) string {
	n, err := strconv.Atoi(pin[1:])
	require.NoError(t, err)
	switch {
	case pin[0] == 'A':
		return "PC" + strconv.Itoa(n)
	case n < 8:
		return "PD" + strconv.Itoa(n)
	}
	return "PB" + strconv.Itoa(n-8)
}

// Each drawing that README shows exists, and none lies about unused.
func TestEveryDrawingIsShown(t *testing.T) {
	readme, err := os.ReadFile("README.md")
	require.NoError(t, err)
	drawings, err := os.ReadDir("wiring")
	require.NoError(t, err)
	require.Equal(t, len(drawings), strings.Count(string(readme), "](wiring/"))
	for _, d := range drawings {
		require.Contains(t, string(readme), "](wiring/"+d.Name()+")")
	}
}
