package keyfile_test

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/sim/keyfile"
	"govrig/sim/unit"
)

// scales is another kind of file than the one that the program reads first.
type scales struct {
	Kind  string      `yaml:"kind" one:"spring,beam" about:"How it weighs."`
	Most  unit.Mass   `yaml:"most" low:"1 kg" high:"200 kg" beyond:"is it a weighbridge?" example:"20 kg" about:"What it bears."`
	Steps int         `yaml:"steps" default:"10" beam:"1000" low:"1" high:"5000" about:"Lines on its face."`
	Sag   *unit.Angle `yaml:"sag" default:"" low:"0°" high:"9°" example:"2°" about:"How far it leans."`
}

var file = keyfile.Declare[scales]("scales", "kind: beam", "the maker has one", keyfile.Variant{Key: "kind", Word: "beam"})

func TestAnotherKindOfFile(t *testing.T) {
	var got scales
	r := file.Read("shop.yaml", []byte("kind: beam\nmost: 30 kg\n"), &got)
	r.Caution("most", "mind your feet")
	defaults, cautions, err := r.Close()
	require.NoError(t, err)
	require.Equal(t, scales{Kind: "beam", Most: 30, Steps: 1000}, got)
	require.Equal(t, []string{"steps: 1000"}, defaults)
	require.Equal(t, []string{"shop.yaml:2:7: most: mind your feet"}, cautions)
}

func TestAnotherKindOfFileIsRefusedInItsOwnWords(t *testing.T) {
	for text, want := range map[string]string{
		"":                            "shop.yaml:1:1: the file is empty; the file is keys with their values, such as “kind: beam”; the maker has one",
		"kind: bean\nmost: 30 kg\n":   "shop.yaml:1:7: kind: “bean” is not known here; did you mean “beam”? It is one of spring or beam\n    1 | kind: bean\n      |       ^^^^",
		"kind: beam\nmost: 300 kg\n":  "shop.yaml:2:7: most: “300 kg” is outside what makes sense here; it runs from 1 kg to 200 kg; is it a weighbridge?\n    2 | most: 300 kg\n      |       ^^^^^^",
		"kind: beam\n":                "shop.yaml:1:1: most: missing; add a line such as “most: 20 kg”. What it bears.",
		"kind: beam\n---\nkind: beam": "shop.yaml:2:1: a second document begins here; keep one scales to a file\n    2 | ---\n      | ^^^",
	} {
		_, _, err := file.Read("shop.yaml", []byte(text), &scales{}).Close()
		var faults keyfile.Faults
		require.True(t, errors.As(err, &faults), text)
		require.Equal(t, want, err.Error(), text)
	}
}

// What is written is read again, with every answer and every example in it.
func TestAnotherKindOfFileIsWritten(t *testing.T) {
	text, err := file.Write("# Scales.\n", map[string]string{"kind": "beam"}, map[string]string{"most": "12 kg"})
	require.NoError(t, err)
	require.Equal(t, "# Scales.\n# How it weighs. One of: spring, beam.\nkind: beam\n\n# What it bears.\nmost: 12 kg\n\n"+
		"# Lines on its face. With beam 1000.\n#steps: 1000\n\n# How far it leans.\n#sag: 2°\n", text)
	var got scales
	_, _, err = file.Read("new", []byte(text), &got).Close()
	require.NoError(t, err)
	require.Equal(t, unit.Mass(12), got.Most)
	_, err = file.Write("", map[string]string{"most": "12 rpm"}, nil)
	require.ErrorContains(t, err, "most")
}

// A section that lends its range to its keys: they are checked by it, and an
// uncertainty from 0 to its end.
func TestSectionLendsItsRange(t *testing.T) {
	type about struct {
		Value  unit.Mass `yaml:"value" range:"section" about:"What it weighs."`
		Within unit.Mass `yaml:"within" default:"" range:"width" about:"How sure that is."`
	}
	type loads struct {
		Left  *about `yaml:"left" default:"" low:"1 kg" high:"2 kg" example:"1.5 kg" about:"On the left."`
		Right *about `yaml:"right" default:"" low:"3 kg" high:"9 kg" example:"4 kg" about:"On the right."`
	}
	kind := keyfile.Declare[loads]("loads", "left:", "the shop has one", keyfile.Variant{})
	read := func(text string) (loads, error) {
		var got loads
		_, _, err := kind.Read("l.yaml", []byte(text), &got).Close()
		return got, err
	}
	got, err := read("left: {value: 1.2 kg, within: 0.1 kg}\nright: {value: 8 kg}\n")
	require.NoError(t, err)
	require.Equal(t, about{1.2, 0.1}, *got.Left)
	require.Equal(t, about{8, 0}, *got.Right)
	for text, want := range map[string]string{
		"left: {value: 3 kg}\n":                "it runs from 1 kg to 2 kg",
		"right: {value: 1 kg}\n":               "it runs from 3 kg to 9 kg",
		"left: {value: 1 kg, within: -1 kg}\n": "it runs from 0 kg to 2 kg",
		"left: {within: 1 kg}\n":               "a line such as “value: 1.5 kg”",
	} {
		_, err := read(text)
		require.ErrorContains(t, err, want, text)
	}
}
