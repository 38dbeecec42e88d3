package main

import (
	"encoding/binary"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/stretchr/testify/require"
)

// slip is something that a hurried person writes in a machine file or types.
type slip struct {
	name     string
	from, to string   // edit of the medium machine's file; none leaves it
	args     []string // FILE stands for the machine file; plan FILE where there are none
	typed    string
	code     int
	says     []string // on standard error, or on standard output where the code is 0
}

// writtenSlips are slips in the machine file. Those that can mean one thing only are
// understood; every other says its line and what to do.
var writtenSlips = []slip{
	{name: "ccm", from: "displacement: 15 cm³", to: "displacement: 15 ccm"},
	{name: "cc, no space", from: "displacement: 15 cm³", to: "displacement: 15cc"},
	{name: "CC", from: "displacement: 15 cm³", to: "displacement: 15 CC"},
	{name: "RPM", from: "idle_speed: 3200 rpm", to: "idle_speed: 3200 RPM"},
	{name: "Rpm", from: "idle_speed: 3200 rpm", to: "idle_speed: 3200 Rpm"},
	{name: "U/min", from: "idle_speed: 3200 rpm", to: "idle_speed: 3200 U/min"},
	{name: "1/min", from: "idle_speed: 3200 rpm", to: "idle_speed: 3200 1/min"},
	{name: "space between thousands", from: "head_speed: 1660 rpm", to: "head_speed: 1 660 rpm"},
	{name: "deg", from: "travel: 80°", to: "travel: 80 deg"},
	{name: "degrees", from: "travel: 80°", to: "travel: 80 degrees"},
	{name: "Fahrenheit", from: "21 °C", to: "70 °F"},
	{name: "Fahrenheit, no sign", from: "21 °C", to: "70 F"},
	{name: "inches", from: "gap: 1.4 mm", to: "gap: 0.055 in"},
	{name: "pounds", from: "4.7 kg", to: "10.4 lb"},
	{name: "decimal comma", from: "gap: 1.4 mm", to: "gap: 1,4 mm"},
	{name: "decimal comma and pounds", from: "4.7 kg", to: "10,4 lbs"},
	{name: "millilitres", from: "displacement: 15 cm³", to: "displacement: 15 ml"},
	{name: "us for µs", from: "1120 µs", to: "1120 us"},
	{name: "kgcm2", from: "0.36 kg·cm²", to: "0.36 kgcm2"},
	{name: "caret", from: "displacement: 15 cm³", to: "displacement: 15 cm^3"},
	{name: "quotes", from: "displacement: 15 cm³", to: `displacement: "15 cm³"`},
	{name: "remark behind", from: "displacement: 15 cm³", to: "displacement: 15 cm³ # new"},
	{name: "1 pulse", from: "magnets: 1", to: "magnets: 1 pulse", code: 2, says: []string{"magnets"}},
	{name: "no unit", from: "displacement: 15 cm³", to: "displacement: 15", code: 2, says: []string{"cm³", "displacement"}},
	{name: "unit of something else", from: "gap: 1.4 mm", to: "gap: 1.4 g", code: 2, says: []string{"mm"}},
	{name: "a comma that can be either", from: "head_speed: 1660 rpm", to: "head_speed: 1,660 rpm", code: 2, says: []string{"1,660"}},
	{name: "comma and point", from: "head_speed: 1660 rpm", to: "head_speed: 1.660,0 rpm", code: 2, says: []string{"1.660,0"}},
	{name: "head speed of the engine", from: "head_speed: 1660 rpm", to: "head_speed: 14400 rpm", code: 2, says: []string{"crankshaft"}},
	{name: "teeth the wrong way round", from: "driver: 9\n    driven: 78", to: "driver: 78\n    driven: 9", code: 2, says: []string{"driven"}},
	{name: "half a tooth", from: "driver: 9", to: "driver: 9.5", code: 2, says: []string{"driver"}},
	{name: "no teeth", from: "driver: 9", to: "driver: 0", code: 2, says: []string{"driver"}},
	{name: "teeth with a word", from: "driver: 9", to: "driver: 9 teeth", code: 2, says: []string{"driver"}},
	{name: "key with a slip", from: "idle_speed", to: "idel_speed", code: 2, says: []string{"idle_speed"}},
	{name: "key with a hyphen", from: "idle_speed", to: "idle-speed", code: 2, says: []string{"idle_speed"}},
	{name: "key with a capital", from: "idle_speed", to: "Idle_speed", code: 2, says: []string{"idle_speed"}},
	{name: "section with a slip", from: "main_rotor:", to: "main_rotors:", code: 2, says: []string{"main_rotor"}},
	{name: "key of another section", from: "flying_mass: 4.7 kg", to: "gap: 1 mm", code: 2, says: []string{"gap"}},
	{name: "key twice", from: "idle_speed: 3200 rpm", to: "idle_speed: 3200 rpm\n  idle_speed: 3300 rpm", code: 2, says: []string{"idle_speed"}},
	{name: "no colon", from: "idle_speed: 3200 rpm", to: "idle_speed 3200 rpm", code: 2, says: []string{"colon"}},
	{name: "no space behind the colon", from: "idle_speed: 3200 rpm", to: "idle_speed:3200 rpm", code: 2, says: []string{"idle_speed"}},
	{name: "equals sign", from: "idle_speed: 3200 rpm", to: "idle_speed = 3200 rpm", code: 2, says: []string{"colon"}},
	{name: "a tab", from: "  idle_speed", to: "\tidle_speed", code: 2, says: []string{"tab"}},
	{name: "key left out", from: "  displacement: 15 cm³\n", to: "", code: 2, says: []string{"displacement"}},
	{name: "value left out", from: "displacement: 15 cm³", to: "displacement:", code: 2, says: []string{"displacement"}},
	{name: "a word for a number", from: "displacement: 15 cm³", to: "displacement: fifteen", code: 2, says: []string{"fifteen"}},
	{name: "below nothing", from: "gap: 1.4 mm", to: "gap: -1.4 mm", code: 2, says: []string{"gap"}},
	{name: "a gap in metres", from: "gap: 1.4 mm", to: "gap: 1.4 m", code: 2, says: []string{"gap"}},
	{name: "a blade in grams too few", from: "blade_mass: 162 g", to: "blade_mass: 162 kg", code: 2, says: []string{"blade_mass"}},
	{name: "a choice that is none", from: "opens: away", to: "opens: outward", code: 2, says: []string{"away", "toward"}},
	{name: "a choice with a slip", from: "opens: away", to: "opens: awya", code: 2, says: []string{"away"}},
	{name: "share without its sign", from: "max_dip: 10 %", to: "max_dip: 10", code: 2, says: []string{"%"}},
	{name: "more than all", from: "max_dip: 10 %", to: "max_dip: 1000 %", code: 2, says: []string{"max_dip"}},
	{name: "an open quote", from: "displacement: 15 cm³", to: `displacement: "15 cm³`, code: 2, says: []string{"YAML"}},
	{name: "an open bracket", from: "displacement: 15 cm³", to: "displacement: [15 cm³", code: 2, says: []string{"YAML"}},
	{name: "two machines in a file", from: "flying_mass: 4.7 kg", to: "flying_mass: 4.7 kg\n---\nname: other", code: 2, says: []string{"second document"}},
	{name: "another format", from: "govrig/machine/1", to: "govrig/machine/2", code: 2, says: []string{"format"}},
	{name: "a name that is a number", from: "name: Medium machine, 15 cm³", to: "name: 15", code: 2, says: []string{"quotes"}},
	{name: "a blade too fast", from: "greatest_head_speed: 2100 rpm", to: "greatest_head_speed: 2100", code: 2, says: []string{"greatest_head_speed"}},
}

// typedSlips are slips at the command line and at a question.
var typedSlips = []slip{
	{name: "file without its end", args: []string{"plan", "DIR/mine"}, code: 2, says: []string{"did you mean"}},
	{name: "no file", args: []string{"plan"}, code: 2, says: []string{"arg"}},
	{name: "a folder", args: []string{"plan", "DIR"}, code: 2, says: []string{"directory"}},
	{name: "command with a slip", args: []string{"pln", "FILE"}, code: 2, says: []string{"plan"}},
	{name: "flag with a slip", args: []string{"loadstep", "FILE", "--virtuel"}, code: 2, says: []string{"--virtual"}},
	{name: "speed that is none", args: []string{"loadstep", "FILE", "--virtual", "--speed", "hovr"}, code: 2, says: []string{"hover"}},
	{name: "time without its unit", args: []string{"hold", "FILE", "--virtual", "--time", "20"}, code: 2, says: []string{"20"}},
	{name: "step that is none", args: []string{"commission", "FILE", "--virtual", "--leave-out", "sweeep"}, code: 2, says: []string{"no such step", "sweep"}},
	{name: "both board and virtual", args: []string{"loadstep", "FILE", "--virtual", "--port", "x"}, code: 2, says: []string{"--virtual"}},
	{name: "teeth in words", args: []string{"new", "DIR/new.yaml", "--pinion", "nine"}, code: 2, says: []string{"--pinion"}},
	{name: "displacement without a unit", args: []string{"new", "DIR/new.yaml", "--displacement", "15"}, code: 2, says: []string{"--displacement"}},
	{name: "a file that is there", args: []string{"new", "FILE"}, code: 2, says: []string{"exists already"}},
	{name: "no", args: []string{"loadstep", "FILE", "--port", "/dev/none"}, typed: "no\n", code: 4, says: []string{"[y]es, [n]o", "not started"}},
	{name: "neither yes nor no, then n", args: []string{"loadstep", "FILE", "--port", "/dev/none"}, typed: "perhaps\nN\n", code: 4, says: []string{`"perhaps" is none of the answers`, "not started"}},
	{name: "y", args: []string{"loadstep", "FILE", "--port", "/dev/none"}, typed: "y\n", code: 3, says: []string{"/dev/none"}},
	{name: "YES", args: []string{"loadstep", "FILE", "--port", "/dev/none"}, typed: "YES\n", code: 3, says: []string{"/dev/none"}},
	{name: "a port that is not there", args: []string{"selftest", "--port", "/dev/none", "--engine-cannot-run"}, code: 3, says: []string{"/dev/none"}},
}

func TestSlips(t *testing.T) {
	require.GreaterOrEqual(t, len(writtenSlips)+len(typedSlips), 75)
	text, err := os.ReadFile(mediumFile)
	require.NoError(t, err)
	for _, s := range append(writtenSlips[:len(writtenSlips):len(writtenSlips)], typedSlips...) {
		t.Run(s.name, func(t *testing.T) {
			dir := t.TempDir()
			file := filepath.Join(dir, "mine.yaml")
			require.Contains(t, string(text), s.from)
			require.NoError(t, os.WriteFile(file, []byte(strings.Replace(string(text), s.from, s.to, 1)), 0o644))
			args := []string{"plan", file}
			if s.args != nil {
				args = nil
				for _, a := range s.args {
					args = append(args, strings.NewReplacer("FILE", file, "DIR", dir).Replace(a))
				}
			}
			code, out, said := command(s.typed, args...)
			require.Equal(t, s.code, code, said)
			for _, w := range s.says {
				require.Contains(t, said, w)
			}
			if s.code == exitUsage && s.args == nil {
				require.Regexp(t, `mine\.yaml:\d+:\d+`, said, "its place")
			}
			require.NotContains(t, out, "-0 %")
			require.NotRegexp(t, `govrig: [a-z]+: `, said, "no package")
		})
	}
}

// UTF-16 is named as that, in one line.
func TestWideMachineFile(t *testing.T) {
	text, err := os.ReadFile(mediumFile)
	require.NoError(t, err)
	var wide []byte
	for _, u := range utf16.Encode([]rune("\ufeff" + string(text))) {
		wide = binary.LittleEndian.AppendUint16(wide, u)
	}
	file := filepath.Join(t.TempDir(), "mine.yaml")
	require.NoError(t, os.WriteFile(file, wide, 0o644))
	code, _, said := command("", "plan", file)
	require.Equal(t, exitUsage, code)
	require.Contains(t, said, "UTF-16")
	require.Equal(t, 1, strings.Count(said, "mine.yaml"), said)
}
