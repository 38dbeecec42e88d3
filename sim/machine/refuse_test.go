package machine_test

import (
	"os"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"govrig/sim/machine"
)

const mediumFile = "../../testdata/machines/medium-15cc.yaml"

func medium(t testing.TB) string {
	text, err := os.ReadFile(mediumFile)
	require.NoError(t, err)
	return string(text)
}

// edit replaces one stretch of the medium machine's file.
func edit(t testing.TB, from, to string) string {
	text := medium(t)
	require.Equal(t, 1, strings.Count(text, from), from)
	return strings.Replace(text, from, to, 1)
}

// placeOf gives line and column, counted from 1 in characters, of a mark.
func placeOf(t testing.TB, text, mark string) (line, column int) {
	before, _, found := strings.Cut(text, mark)
	require.True(t, found, mark)
	last := strings.LastIndexByte(before, '\n') + 1
	return strings.Count(before, "\n") + 1, utf8.RuneCountInString(before[last:]) + 1
}

func faultsOf(t testing.TB, text string) machine.Faults {
	m, err := machine.Parse("club.yaml", []byte(text))
	require.Nil(t, m)
	var faults machine.Faults
	require.ErrorAs(t, err, &faults)
	require.NotEmpty(t, faults)
	return faults
}

// Each slip of the pen is refused where it stands, with what would be right.
func TestRefusedInPlace(t *testing.T) {
	for name, c := range map[string]struct {
		from, to string // edit of the medium machine's file
		mark     string // where the fault stands; the first of its kind in the file
		path     string
		says     []string
	}{
		"unit missing":            {"displacement: 15 cm³", "displacement: 15", "15\n", "engine.displacement", []string{"“15” has no unit", "cm³ or ml", "for example 15 cm³"}},
		"unit of a length":        {"displacement: 15 cm³", "displacement: 15 mm", "15 mm", "engine.displacement", []string{"is a length, where a volume is wanted", "cm³"}},
		"unit unknown":            {"displacement: 15 cm³", "displacement: 15 cubes", "15 cubes", "engine.displacement", []string{"not known here", "cm³"}},
		"comma of thousands":      {"gap: 1.4 mm", "gap: 1,400 mm", "1,400 mm", "pickup.gap", []string{"comma that may be", "write 1400 mm or 1.400 mm"}},
		"point of thousands":      {"idle_speed: 3200 rpm", "idle_speed: 3.200 rpm", "3.200 rpm", "engine.idle_speed", []string{"from 500 rpm to 9000 rpm", "leave the point out"}},
		"comma, no unit":          {"displacement: 15 cm³", "displacement: 15,5", "15,5", "engine.displacement", []string{"has no unit"}},
		"comma of a plain number": {"speed_ratio: 4.6", "speed_ratio: 4,6", "4,6", "tail_rotor.speed_ratio", []string{"decimal point"}},
		"unit in capitals":        {"gap: 1.4 mm", "gap: 1.4 MM", "1.4 MM", "pickup.gap", []string{"not known here", "write it in mm"}},
		"tilde of a guess":        {"gap: 1.4 mm", "gap: ~1.4 mm", "~1.4", "pickup.gap", []string{"not a number with a unit"}},
		"range of values":         {"gap: 1.4 mm", "gap: 1-2 mm", "1-2 mm", "pickup.gap", []string{"not known here"}},
		"two units":               {"gap: 1.4 mm", "gap: 1.4 mm (0.055 in)", "1.4 mm (", "pickup.gap", []string{"not known here"}},
		"remark without #":        {"driver: 9", "driver: 9 (steel)", "9 (steel)", "gears[0].driver", []string{"digits only"}},
		"minus for a dash":        {"gap: 1.4 mm", "gap: −1.4 mm", "−1.4 mm", "pickup.gap", []string{"not a number with a unit"}},
		"fuel by its trade":       {"displacement: 15 cm³", "displacement: 15 cm³\n  fuel: gasoline", "gasoline", "engine.fuel", []string{"methanol or petrol"}},
		"select misspelt":         {"speed_step: 25 rpm", "select: step", "step\n", "governor.select", []string{"did you mean “steps”?"}},
		"servo misspelt":          {"travel: 80°", "kind: analog", "analog\n", "throttle_servo.kind", []string{"did you mean “analogue”?"}},
		"blades as text":          {"chord: 57 mm", "chord: 57 mm\n  blades: two", "two", "main_rotor.blades", []string{"digits only"}},
		"comma in a flow":         {"max_dip: 10 %, max_overshoot: 12 %, max_recovery_time: 5 s}\n  circuit", "max_dip: 9,5 %}\n  circuit", "5 %}", "speeds.hover.limits", []string{"unknown key “5 %”", "decimal comma"}},
		"negative teeth":          {"driver: 9", "driver: -9", "-9", "gears[0].driver", []string{"“-9” is outside", "from 5 to 500"}},
		"fraction of teeth":       {"driver: 9", "driver: 9.5", "9.5", "gears[0].driver", []string{"not a whole number"}},
		"octal teeth":             {"driver: 9", "driver: 012", "012", "gears[0].driver", []string{"not a whole number"}},
		"quoted teeth":            {"driver: 9", `driver: "9"`, `"9"`, "gears[0].driver", []string{"without quotes"}},
		"teeth with a unit":       {"driver: 9", "driver: 9 teeth", "9 teeth", "gears[0].driver", []string{"digits only"}},
		"gap of zero":             {"gap: 1.4 mm", "gap: 0 mm", "0 mm", "pickup.gap", []string{"from 0.1 mm to 20 mm"}},
		"huge number":             {"gap: 1.4 mm", "gap: 1e999 mm", "1e999 mm", "pickup.gap", []string{"too large"}},
		"not a number":            {"gap: 1.4 mm", "gap: .nan", ".nan", "pickup.gap", []string{"not a number"}},
		"key unknown":             {"idle_speed:", "idel_speed:", "idel_speed", "engine", []string{"unknown key “idel_speed”", "did you mean “idle_speed”?"}},
		"key elsewhere":           {"flying_mass:", "zzz:", "zzz", "", []string{"unknown key “zzz”", "the keys here are format, name"}},
		"word unknown":            {"opens: away", "opens: towards", "towards", "throttle_linkage.opens", []string{"did you mean “toward”?"}},
		"key twice":               {"idle_speed: 3200 rpm", "idle_speed: 3200 rpm\n  displacement: 5 cc", "displacement: 5", "engine", []string{"a second “displacement”", "line 7"}},
		"speed twice":             {"  brisk:", "  hover:", "hover:\n    head_speed: 1800", "speeds", []string{"a second “hover”"}},
		"null":                    {"radius: 0.69 m", "radius: ~", "radius: ~", "main_rotor.radius", []string{"no value"}},
		"null by absence":         {"radius: 0.69 m", "radius:", "radius:\n  chord", "main_rotor.radius", []string{"no value"}},
		"null section":            {"air:\n  altitude: 310 m\n  temperature: 21 °C\n  humidity: 55 %", "air:", "air:\n\ngovernor", "air", []string{"no value"}},
		"anchor":                  {"gap: 1.4 mm", "gap: &g 1.4 mm", "&g", "pickup.gap", []string{"an anchor is not used here"}},
		"alias":                   {"gap: 1.4 mm", "gap: *g", "*g", "pickup.gap", []string{"an alias is not used here"}},
		"merge key":               {"  gap: 1.4 mm", "  <<: *g", "<<", "pickup", []string{"cannot be a key"}},
		"tag":                     {"gap: 1.4 mm", "gap: !!str 1.4 mm", "!!str", "pickup.gap", []string{"a tag is not used here"}},
		"list as a value":         {"gap: 1.4 mm", "gap: [1.4 mm]", "[1.4", "pickup.gap", []string{"a list”", "one value"}},
		"value as section":        {"air:\n  altitude: 310 m\n  temperature: 21 °C\n  humidity: 55 %", "air: 21 °C", "21 °C", "air", []string{"where a section with keys belongs"}},
		"value as list":           {"gears:\n  - driver: 9\n    driven: 78\n    efficiency: 96 %\n    inertia: 0.25 g·m²", "gears: 8.667", "8.667", "gears", []string{"where a list belongs"}},
		"empty list":              {"gears:\n  - driver: 9\n    driven: 78\n    efficiency: 96 %\n    inertia: 0.25 g·m²", "gears: []", "[]", "gears", []string{"the list is empty"}},
		"number as a name":        {"name: Medium machine, 15 cm³", "name: 15", "15\n", "name", []string{"put it in quotes"}},
		"empty name":              {"name: Medium machine, 15 cm³", `name: " "`, `" "`, "name", []string{"the text is empty"}},
		"other format":            {"govrig/machine/1", "govrig/machine/2", "govrig/machine/2", "format", []string{"write govrig/machine/1"}},
		"name of a speed":         {"  brisk:", "  1800:", "1800:", "speeds", []string{"cannot name a speed"}},
		"missing key":             {"  blade_mass: 162 g\n", "", "main_rotor:", "main_rotor.blade_mass", []string{"missing", "“blade_mass: 165 g”"}},
		"tab":                     {"  gap: 1.4 mm", "\tgap: 1.4 mm", "\tgap", "", []string{"a tab in the indentation", "spaces"}},
		"control character":       {"gap: 1.4 mm", "gap: 1.4\x1b mm", "\x1b", "", []string{"a control character"}},
		"unclosed quote":          {"gap: 1.4 mm", `gap: "1.4 mm`, `"1.4`, "", []string{"this is not YAML"}},
		"second document":         {"governor:", "---\ngovernor:", "---", "", []string{"a second document"}},
		"tips too fast":           {"head_speed: 1800 rpm", "head_speed: 2900 rpm", "2900 rpm", "speeds.brisk.head_speed", []string{"Mach 0.61", "Mach 0.60 is 285"}},
		"beyond governor":         {"head_speed: 1800 rpm", "head_speed: 2200 rpm", "2200 rpm", "speeds.brisk.head_speed", []string{"19067 rpm at the crankshaft", "1154 rpm to 2077 rpm at the head"}},
		"beyond the blades":       {"greatest_head_speed: 2100 rpm", "greatest_head_speed: 1750 rpm", "1800 rpm\n    limits", "speeds.brisk.head_speed", []string{"above main_rotor.greatest_head_speed", "line 27"}},
		"teeth turned":            {"driver: 9\n    driven: 78", "driver: 78\n    driven: 9", "78\n    driven", "gears[0].driver", []string{"more teeth than the driven one", "the wrong way round?"}},
		"ratio turned":            {"driver: 9\n    driven: 78", "ratio: 0.1154", "0.1154", "gears[0].ratio", []string{"faster than the engine", "the wrong way round?"}},
		"no ratio":                {"driver: 9\n    driven: 78", "kind: gear", "kind: gear", "gears[0]", []string{"neither teeth nor a ratio", "ratio: 8.6667"}},
		"half the teeth":          {"driver: 9\n    driven: 78", "driven: 78", "driven: 78", "gears[0].driver", []string{"missing", "teeth of the driving wheel"}},
		"teeth and ratio":         {"driven: 78", "driven: 78\n    ratio: 9", "9\n    eff", "gears[0].ratio", []string{"the teeth give 8.6667"}},
		"four stages":             {"driver: 9\n    driven: 78", "ratio: 2\n  - ratio: 2\n  - ratio: 1.5\n  - ratio: 1.4444", "gears:", "gears", []string{"4 stages", "up to 3"}},
		"engine at head":          {"head_speed: 1800 rpm", "head_speed: 15600 rpm", "15600 rpm", "speeds.brisk.head_speed", []string{"from 200 rpm to 4000 rpm", "is this the crankshaft's speed?"}},
		"head's range":            {"lowest_speed: 10000 rpm\n  highest_speed: 18000 rpm", "lowest_speed: 1150 rpm\n  highest_speed: 2080 rpm", "2080 rpm", "governor.highest_speed", []string{"is it the range at the head?"}},
		"one point":               {"speeds:", "transmitter: {pulse_at_0_percent: 1.1 ms, pulse_at_100_percent: 1.9 ms, modes: {normal: {curve: [40 %]}}}\nspeeds:", "curve: [40", "transmitter.modes.normal.curve", []string{"a curve of 1", "2 to 17 points"}},
		"curve over the top":      {"speeds:", "transmitter: {pulse_at_0_percent: 1.1 ms, pulse_at_100_percent: 1.9 ms, modes: {normal: {curve: [0 %, 110 %]}}}\nspeeds:", "110 %", "transmitter.modes.normal.curve[1]", []string{"from 0 % to 100 %"}},
		"stick stands":            {"speeds:", "transmitter: {pulse_at_0_percent: 1.1 ms, pulse_at_100_percent: 1150 µs, modes: {normal: {curve: [0 %, 90 %]}}}\nspeeds:", "1150 µs", "transmitter.pulse_at_100_percent", []string{"less than 100 µs from transmitter.pulse_at_0_percent"}},
		"cut above hold":          {"speeds:", "transmitter: {pulse_at_0_percent: 1.1 ms, pulse_at_100_percent: 1.9 ms, hold: 8 %, engine_cut: 9 %, modes: {normal: {curve: [0 %, 90 %]}}}\nspeeds:", "9 %, modes", "transmitter.engine_cut", []string{"above transmitter.hold"}},
		"no mode":                 {"speeds:", "transmitter: {pulse_at_0_percent: 1.1 ms, pulse_at_100_percent: 1.9 ms, modes: {}}\nspeeds:", "{}", "transmitter.modes", []string{"no mode is named", "“normal:” with its curve"}},
		"idle in the stall":       {"idle_speed: 3200 rpm", "idle_speed: 1500 rpm", "1500 rpm", "engine.idle_speed", []string{"must be above engine.stall_speed", "its default is used"}},
		"clutch at idle":          {"idle_speed: 3200 rpm", "idle_speed: 6300 rpm", "6200 rpm", "clutch.engagement_speed", []string{"must be above engine.idle_speed", "line 11"}},
		"clutch never":            {"torque_speed: 11000 rpm", "torque_speed: 6300 rpm", "6300 rpm", "clutch.torque_speed", []string{"must be above clutch.engagement_speed"}},
		"rod too short":           {"rod_length: 62 mm", "rod_length: 45 mm", "45 mm", "throttle_linkage.rod_length", []string{"too short to go round", "a longer rod"}},
		"rod too long":            {"rod_length: 62 mm", "rod_length: 80 mm", "80 mm", "throttle_linkage.rod_length", []string{"too long to go round", "a shorter rod"}},
		"pivots too close":        {"pivot_distance: 64 mm", "pivot_distance: 12 mm", "12 mm\n  rod", "throttle_linkage.pivot_distance", []string{"must be above throttle_linkage.servo_arm"}},
		"thin barrel":             {"barrel_diameter: 13 mm", "barrel_diameter: 8 mm", "8 mm\n\npickup", "carburettor.barrel_diameter", []string{"must be above carburettor.bore"}},
		"servo stands":            {"open_pulse: 1880 µs", "open_pulse: 1120 µs", "1120 µs\n  travel", "throttle_servo.open_pulse", []string{"less than 100 µs from throttle_servo.closed_pulse"}},
		"no hysteresis":           {"operate: 10 mT", "operate: 7 mT", "7 mT", "pickup.sensor.operate", []string{"must be above pickup.sensor.release"}},
		"points swapped":          {"release_min: 4 mT", "release_min: 8 mT", "8 mT", "pickup.sensor.release_min", []string{"above the typical release point"}},
		"operate swapped":         {"operate_max: 12 mT", "operate_max: 9 mT", "9 mT", "pickup.sensor.operate_max", []string{"below the typical operate point"}},
		"latch of one pole":       {"kind: unipolar", "kind: latch", "7 mT", "pickup.sensor.release", []string{"negative release point"}},
		"odd alternation":         {"  magnets: 1", "  poles: alternating\n  magnets: 1", "1\n  magnet:", "pickup.magnets", []string{"even number"}},
		"range swapped":           {"highest_speed: 18000 rpm", "highest_speed: 9000 rpm", "9000 rpm", "governor.highest_speed", []string{"must be above governor.lowest_speed"}},
		"load swapped":            {"collective_high: 6.5°", "collective_high: 0.5°", "0.5°", "load_step.collective_high", []string{"must be above load_step.collective_low"}},
		"feather crank":           {"inertia: 0.36 kg·cm²", "inertia: 1 g·cm²", "1 g·cm²", "engine.inertia", []string{"run-up time"}},
	} {
		t.Run(name, func(t *testing.T) {
			text := edit(t, c.from, c.to)
			faults := faultsOf(t, text)
			line, column := placeOf(t, text, c.mark)
			at := slices.IndexFunc(faults, func(f *machine.Fault) bool { return f.Line == line && f.Column == column })
			require.GreaterOrEqual(t, at, 0, "nothing at %d:%d in\n%v", line, column, faults)
			require.LessOrEqual(t, len(faults), 2, "%v", faults)
			fault := faults[at]
			require.Equal(t, c.path, fault.Path)
			for _, s := range c.says {
				require.Contains(t, fault.Error(), s)
			}
			require.NotEmpty(t, fault.Remedy)
			require.Contains(t, fault.Error(), "^")
		})
	}
}

// What is wrong with a whole file is told in words.
func TestRefusedWholeFile(t *testing.T) {
	for name, c := range map[string]struct{ text, says string }{
		"empty":             {"", "the file is empty"},
		"remarks only":      {"# nothing\n\n", "the file is empty"},
		"a bare document":   {"---\n", "the file is empty"},
		"text":              {"hello", "“hello” stands where a section"},
		"list":              {"- a\n- b\n", "“a list” stands where a section"},
		"null":              {"~\n", "no value"},
		"directive":         {"%YAML 1.2\n---\nname: x\n", "a directive"},
		"not UTF-8":         {"name: \xff\n", "not UTF-8"},
		"UTF-16":            {"\xff\xfen\x00a\x00", "UTF-16 text; save it as UTF-8"},
		"UTF-16, other end": {"\xfe\xff\x00n\x00a", "UTF-16"},
		"UTF-16, no mark":   {"n\x00a\x00m\x00e\x00", "UTF-16"},
		"binary":            {"\x7fELF\x02\x01\x00", "control character"},
		"too large":         {strings.Repeat("# remark\n", machine.MaxSize), "larger than 32 KiB"},
		"nested too deeply": {strings.Repeat("[", 600), "too many brackets"},
		"long line":         {"name: " + strings.Repeat("- ", 600), "this line is too long"},
		"two empty":         {"---\n---\n", "the file is empty"},
	} {
		t.Run(name, func(t *testing.T) {
			faults := faultsOf(t, c.text)
			require.Len(t, faults, 1)
			require.Contains(t, faults[0].Error(), c.says)
			require.NotEmpty(t, faults[0].Remedy)
		})
	}
}

// A mark of byte order and the line ends of Windows change nothing.
func TestByteOrderMarkAndLineEnds(t *testing.T) {
	plain, err := machine.Parse("a", []byte(medium(t)))
	require.NoError(t, err)
	windows := "\ufeff" + strings.ReplaceAll(medium(t), "\n", "\r\n")
	same, err := machine.Parse("a", []byte(windows))
	require.NoError(t, err)
	require.Equal(t, plain.HeliParams(), same.HeliParams())
	require.Equal(t, windows, same.Text)

	text := strings.ReplaceAll(edit(t, "driven: 78", "driven: x"), "\n", "\r\n")
	line, column := placeOf(t, text, "x\r")
	fault := faultsOf(t, "\ufeff"+text)[0]
	require.Equal(t, [2]int{line, column}, [2]int{fault.Line, fault.Column})
}

// All faults of a file come in one error, in the order of their places.
func TestFaultsAreReportedTogether(t *testing.T) {
	text := strings.NewReplacer("15 cm³\n  mean", "15\n  mean", "driver: 9", "driver: -9", "  chord: 57 mm\n", "", "21 °C", "21").Replace(medium(t))
	faults := faultsOf(t, text)
	var paths []string
	for i, f := range faults {
		paths = append(paths, f.Path)
		require.True(t, i == 0 || faults[i-1].Line <= f.Line)
		var one *machine.Fault
		require.ErrorAs(t, faults.Unwrap()[i], &one)
	}
	require.Equal(t, []string{"engine.displacement", "gears[0].driver", "main_rotor.chord", "air.temperature"}, paths)
}

// The excerpt marks the text, also behind characters of several bytes.
func TestExcerptMarksTheText(t *testing.T) {
	fault := faultsOf(t, edit(t, "{max_speed_band: 1.5 %, max_dip: 10 %, max_overshoot: 12 %, max_recovery_time: 5 s}\n  circuit",
		"{\"max_speed_band\": 1.5 %, max_dip: 10 µs}\n  circuit"))[0]
	lines := strings.Split(fault.Error(), "\n")
	require.Len(t, lines, 3)
	at := strings.Index(lines[2], "^")
	require.Equal(t, "10 µs", string([]rune(lines[1])[at:at+5]))
	require.Equal(t, 5, strings.Count(lines[2], "^"))
}

// A file full of faults does not flood the screen.
func TestManyFaultsAreCutShort(t *testing.T) {
	faults := faultsOf(t, strings.Repeat("x: 1\n", 1000))
	require.Less(t, strings.Count(faults.Error(), "\n"), 120)
	require.Contains(t, faults.Error(), "more")
}

// A terminal is not upset by what stands in a file.
func TestErrorsArePrintable(t *testing.T) {
	text := edit(t, "opens: away", `opens: "\e[31m\n\u202e"`)
	require.NotContains(t, faultsOf(t, text).Error(), "\x1b")
	require.NotContains(t, faultsOf(t, text).Error(), "\u202e")
}
