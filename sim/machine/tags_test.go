package machine

import (
	"govrig/sim/keyfile"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Every tag holds what its key accepts, and nothing beyond the range.
func TestTagsAreInOrder(t *testing.T) {
	require.Greater(t, len(File.ByPath), 90)
	for path, l := range File.ByPath {
		require.NotEmpty(t, l.About, path)
		for _, text := range []string{l.Low, l.High, l.Default, l.Varied} {
			if text == "" || text[0] == '=' {
				continue
			}
			problem, _ := l.Check(text)
			require.Empty(t, problem, "%s %s", path, text)
		}
		if l.Kind == keyfile.Curve {
			continue // tried with the whole file
		}
		problem, _ := l.Check(l.Example)
		require.Empty(t, problem, path)
		if l.Kind == keyfile.Text {
			continue
		}
		require.NotEmpty(t, l.Low, path)
		require.NotEmpty(t, l.High, path)
	}
}

// What is assumed for petrol needs the key fuel beside it.
func TestPetrolStandsBesideFuel(t *testing.T) {
	sections := [][]*keyfile.Key{File.Keys}
	for len(sections) > 0 {
		keys := sections[0]
		sections = sections[1:]
		for _, k := range keys {
			require.True(t, k.Varied == "" || slices.ContainsFunc(keys, func(k *keyfile.Key) bool { return k.Name == "fuel" }), k.Name)
			sections = append(sections, k.Keys)
		}
	}
}

// uncommented is a new file with every key that it only shows filled in.
func uncommented(t *testing.T, answers map[string]string) string {
	text, err := Template(answers)
	require.NoError(t, err)
	lines := strings.Split(text, "\n")
	for i, line := range lines {
		if body := strings.TrimLeft(line, " "); strings.HasPrefix(body, "#") && !strings.HasPrefix(body, "# ") {
			lines[i] = strings.Replace(line, "#", "", 1)
		}
	}
	return strings.Join(lines, "\n")
}

// With all keys given nothing is assumed.
func TestNewFileShowsEveryKey(t *testing.T) {
	text := uncommented(t, nil)
	m, err := Parse("new.yaml", []byte(text))
	require.NoError(t, err)
	require.Empty(t, m.Defaults)
	for _, l := range File.ByPath {
		require.Regexp(t, `(?m)^[ -]*`+l.Name+`: \S`, text)
	}
}

// At the ends of a key's range the simulated part agrees, or a check between
// keys has its own words: the part's own range never comes through.
func TestRangesFitTheSimulatedParts(t *testing.T) {
	for path, l := range File.ByPath {
		for _, end := range []string{l.Low, l.High} {
			if end == "" {
				continue
			}
			text, err := Template(map[string]string{path: end})
			if err == nil {
				require.Contains(t, text, end)
				continue
			}
			for _, f := range err.(keyfile.Faults) {
				if strings.Contains(f.Problem, "comes out as") { // of several keys
					require.Contains(t, []string{"engine.inertia", "engine.friction_pressure_at_peak", "engine.idle_speed"}, f.Path, "%s: %s", path, end)
				}
			}
		}
	}
}
