package machine_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/sim/keyfile"
	"govrig/sim/machine"
)

// Whatever the bytes, Parse gives a valid machine or faults with their places.
func FuzzParse(f *testing.F) {
	files, err := filepath.Glob("../../testdata/machines/*.yaml")
	require.NoError(f, err)
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(f, err)
		f.Add(text)
	}
	for _, text := range []string{
		"", "a", "- ", "? a\n: b", "&a", "*a", "!!x y", "{", "[", "a: |\n b", "a: >\n  c\n", "\"", "'", "--- x\n--- y\n...", "%TAG",
		"<<: {a: b}", "engine: {displacement: 1,5 cc, idle_speed: [}", "gears:\n- - a\n", "speeds:\n  a: {head_speed: 1e5 rpm}\n  a: ~\n",
		"name: \"\\x00\\u202e\"\n", "engine:\n\tx: 1\n", "\ufeffname: x\r\n", "a: b: c", ": :", "#", "\r", "-\n-\n", "? [a]\n: 1", "a: !!binary x",
	} {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		m, err := machine.Parse("f.yaml", data)
		if err == nil {
			require.NoError(t, m.HeliParams().Validate())
			require.NoError(t, m.GovernorParams(16e6).Validate())
			return
		}
		require.Nil(t, m)
		var faults keyfile.Faults
		require.True(t, errors.As(err, &faults))
		lines := strings.Count(string(data), "\n") + 1
		for _, fault := range faults {
			require.Positive(t, fault.Column)
			require.Positive(t, fault.Line)
			require.LessOrEqual(t, fault.Line, lines)
			require.NotEmpty(t, fault.Problem)
			require.True(t, strings.HasPrefix(fault.Error(), "f.yaml:"))
		}
	})
}
