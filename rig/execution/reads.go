package execution

import (
	"encoding/json"
	"slices"
	"strings"

	"govrig/sim/machine"
)

// What a procedure reads of the machine file in which the simulated engine turns
// under a governor; ReadsBlades with what the blades bear.
var (
	ReadsBlades = []string{
		"engine", "clutch", "gears", "main_rotor", "tail_rotor", "throttle_servo", "throttle_linkage", "carburettor",
		"air", "pickup.active", "governor", "speeds", "load_step", standIn,
	}
	ReadsEngine = append(slices.Clone(ReadsBlades), "-main_rotor.greatest_head_speed")
)

const (
	speeds  = "speeds."
	standIn = "stand_in"
)

// ReadOf are the values of a machine by path of which something is read: sections
// and keys, with a minus before those left out of them. Of the speed settings only
// the named one counts, or each for the empty name. What the file says of the
// stand-in counts only where that takes part.
func ReadOf(m *machine.Machine, reads []string, setting string, simulated bool) map[string]string {
	read := map[string]string{}
	if m == nil {
		return read
	}
	for path, value := range m.Values() {
		other := setting != "" && SettingOf(path) != "" && SettingOf(path) != setting
		if !other && (simulated || !within(path, standIn)) && counts(path, reads) {
			read[path] = value
		}
	}
	return read
}

// counts reports whether a path lies in a section that is read.
func counts(path string, reads []string) bool {
	in := func(section string) bool { return within(path, section) }
	left := slices.ContainsFunc(reads, func(r string) bool { return r[0] == '-' && in(r[1:]) })
	return !left && slices.ContainsFunc(reads, in)
}

// within reports whether a path is that of a section or of a key in it.
func within(path, section string) bool {
	rest, ok := strings.CutPrefix(path, section)
	return ok && (rest == "" || rest[0] == '.' || rest[0] == '[')
}

// SettingOf is the speed setting that a path of the machine file belongs to, or
// nothing.
func SettingOf(path string) string {
	rest, ok := strings.CutPrefix(path, speeds)
	if !ok {
		return ""
	}
	name, _, _ := strings.Cut(rest, ".")
	return name
}

// AskedFor is the speed setting that a run was asked for by its options: AllSpeeds,
// or the one that it ran.
func AskedFor(options json.RawMessage, ran string) string {
	var o struct{ Speed string }
	if json.Unmarshal(options, &o) == nil && o.Speed == AllSpeeds {
		return AllSpeeds
	}
	return ran
}

// read is what the plan reads of the machine on the bench.
func (b *Bench) read(p Plan) map[string]string {
	options, err := json.Marshal(p.Options)
	setting := p.Setting.Name
	if err != nil || AskedFor(options, setting) == AllSpeeds {
		setting = ""
	}
	return ReadOf(b.Machine, p.Reads, setting, b.StandIn != nil)
}
