package machine

import (
	"maps"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// A file made of nothing but a machine's values is the same machine.
func TestValuesAreTheWholeMachine(t *testing.T) {
	files, err := filepath.Glob("../../testdata/machines/*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, file := range files {
		m, err := Load(file)
		require.NoError(t, err)
		values := m.Values()
		require.Greater(t, len(values), 100)
		again, err := Parse("again.yaml", []byte(nested(values)))
		require.NoError(t, err, nested(values))
		require.Equal(t, values, again.Values())
	}
}

// nested writes values by path as YAML, indented by the path.
func nested(values map[string]string) string {
	var b strings.Builder
	var open []string
	for _, path := range slices.SortedFunc(maps.Keys(values), byParts) {
		parts := strings.Split(strings.ReplaceAll(path, "[", ".["), ".")
		same := 0
		for same < len(open) && same < len(parts)-1 && open[same] == parts[same] {
			same++
		}
		for depth := same; depth < len(parts)-1; depth++ {
			if strings.HasPrefix(parts[depth], "[") {
				b.WriteString(strings.Repeat(" ", 2*depth) + "-\n")
			} else {
				b.WriteString(strings.Repeat(" ", 2*depth) + parts[depth] + ":\n")
			}
		}
		open = parts[:len(parts)-1]
		text := values[path]
		if strings.ContainsAny(text, ":#,") && !strings.HasPrefix(text, "[") || path == "name" || path == "notes" {
			text = "'" + text + "'"
		}
		b.WriteString(strings.Repeat(" ", 2*len(open)) + parts[len(parts)-1] + ": " + text + "\n")
	}
	return b.String()
}

func byParts(a, b string) int { return slices.Compare(strings.Split(a, "."), strings.Split(b, ".")) }

// What is assumed is a value like any other; an optional key without one is none,
// and one of nothing is one.
func TestValuesThatAreAssumedOrLeftOut(t *testing.T) {
	text, err := Template(nil)
	require.NoError(t, err)
	m, err := Parse("new.yaml", []byte(text))
	require.NoError(t, err)
	values := m.Values()
	require.Equal(t, "50 %", values["air.humidity"])
	require.Equal(t, "1.5 mm", values["pickup.gap"])
	require.Equal(t, "15 cm³", values["engine.displacement"])
	require.NotContains(t, values, "main_rotor.greatest_head_speed")
	require.NotContains(t, values, "transmitter.hold")
	require.NotContains(t, values, "gears[0].ratio")

	with := strings.Replace(text, "#transmitter:", "transmitter:\n  pulse_at_0_percent: 1100 µs\n  pulse_at_100_percent: 1900 µs\n  hold: 0 %\n  modes:\n    normal:\n      curve: [30 %, 100 %]\n", 1)
	m, err = Parse("with.yaml", []byte(with))
	require.NoError(t, err)
	require.Equal(t, "0 %", m.Values()["transmitter.hold"])
	require.Equal(t, "[30 %, 100 %]", m.Values()["transmitter.modes.normal.curve"])
}
