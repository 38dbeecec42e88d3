package machine_test

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/sim/keyfile"
	"govrig/sim/machine"
)

func fieldsOf(text string) []keyfile.Field {
	return machine.File.Read("mine.yaml", []byte(text), &machine.Machine{}).Fields()
}

// texts are the shipped machine files, one with the line ends of Windows, and a
// new one, in which most keys stand behind a #.
func texts(t *testing.T) (all []string) {
	paths, err := filepath.Glob("../../testdata/machines/*.yaml")
	require.NoError(t, err)
	for _, path := range paths {
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		all = append(all, string(text), strings.ReplaceAll(string(text), "\n", "\r\n"))
	}
	text, err := machine.Template(nil)
	require.NoError(t, err)
	return append(all, text)
}

// changed are the lines that stand in one text and not in the same place of the
// other.
func changed(t *testing.T, before, after string) (from, to string) {
	a, b := strings.Split(before, "\n"), strings.Split(after, "\n")
	for len(a) > 0 && len(b) > 0 && a[0] == b[0] {
		a, b = a[1:], b[1:]
	}
	for len(a) > 0 && len(b) > 0 && a[len(a)-1] == b[len(b)-1] {
		a, b = a[:len(a)-1], b[:len(b)-1]
	}
	require.LessOrEqual(t, max(len(a), len(b)), 1, "one line changes")
	return strings.Join(a, "\n"), strings.Join(b, "\n")
}

// Random edits change the line of their key and no other byte of the file, and
// what is read again is what was set.
func TestEditsKeepEveryOtherLine(t *testing.T) {
	random := rand.New(rand.NewPCG(16, 2))
	for _, text := range texts(t) {
		for range 150 {
			fields := fieldsOf(text)
			at := random.IntN(len(fields))
			value := fields[at].Key.Example
			if random.IntN(3) == 0 && !fields[at].Key.Needed {
				value = ""
			}
			after, err := machine.File.Set(text, fields[at].Path, value, &machine.Machine{})
			if err != nil {
				require.ErrorIs(t, err, keyfile.ErrByHand)
				require.False(t, fields[at].Given && value != "" && fields[at].Path != "notes", fields[at].Path) // these run over several lines
				continue
			}
			changed(t, text, after)
			again := fieldsOf(after)
			require.Len(t, again, len(fields))
			for i := range again {
				if i == at {
					require.Equal(t, value, again[i].Text, again[i].Path)
					continue
				}
				require.Equal(t, fields[i], again[i], "after %s", fields[at].Path)
			}
			text = after
		}
	}
}

// Remarks behind a value stay, quotes are put where they are needed, and what
// is not on a line of its own is left to an editor.
func TestEditsOfUnusualLines(t *testing.T) {
	text := texts(t)[0]
	spoiled := strings.Replace(text, "flying_mass: ", "flying_mass:   ", 1)
	line := strings.Split(spoiled[strings.Index(spoiled, "flying_mass"):], "\n")[0]
	spoiled = strings.Replace(spoiled, line, line+"   # with the camera", 1)
	after, err := machine.File.Set(spoiled, "flying_mass", "7.5 kg", &machine.Machine{})
	require.NoError(t, err)
	_, to := changed(t, spoiled, after)
	require.Equal(t, "flying_mass:   7.5 kg   # with the camera", to)

	after, err = machine.File.Set(text, "name", `Big "one": #2`, &machine.Machine{})
	require.NoError(t, err)
	require.Equal(t, `Big "one": #2`, fieldsOf(after)[1].Text)

	_, err = machine.File.Set(text, "wings", "2", &machine.Machine{})
	require.ErrorContains(t, err, "wings")
	_, err = machine.File.Set(text, "transmitter.hold", "20 %", &machine.Machine{})
	require.ErrorIs(t, err, keyfile.ErrByHand)
	after, err = machine.File.Set("air: {altitude: 200 m, humidity: 50 %}\n", "air.altitude", "3 m", &machine.Machine{})
	require.NoError(t, err)
	require.Equal(t, "air: {altitude: 3 m, humidity: 50 %}\n", after)
	_, err = machine.File.Set(after, "air.altitude", "", &machine.Machine{})
	require.ErrorIs(t, err, keyfile.ErrByHand)
}
