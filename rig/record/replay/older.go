package replay

import (
	"strings"

	"govrig/rig/measure"
	"govrig/rig/phase"
	"govrig/rig/runlog"
	"govrig/sim/machine"
)

// Phases gives what the phases of a record were. In a record of before they had
// keys the name of a phase holds that of its setting.
func Phases(rec *runlog.Record, m *machine.Machine) ([]phase.Key, error) {
	keys, err := rec.Phases()
	for i := range keys {
		k := &keys[i]
		base, setting, ok := strings.Cut(string(k.Kind), ", ")
		if ok && m != nil && k.Setting == "" {
			if _, known := m.Speed(setting); known {
				k.Kind, k.Setting = phase.Kind(base), setting
			}
		}
	}
	return keys, err
}

// keyed gives keys to the measures of a result of before they had any: their names
// end with the load, the setting or the change of load.
func keyed(r *measure.Result, m *machine.Machine) {
	for i := range r.Measures {
		if of := &r.Measures[i]; of.Key.What == "" {
			of.Key = keyOf(of.Name, m)
		}
	}
}

func keyOf(name string, m *machine.Machine) (k measure.Key) {
	for _, load := range []measure.Load{measure.Light, measure.Heavy} {
		if base, ok := strings.CutSuffix(name, "_"+string(load)); ok {
			name, k.Load = base, load
		}
	}
	if m != nil {
		for _, s := range m.Speeds {
			if base, ok := strings.CutSuffix(name, "_"+s.Name); ok {
				name, k.Setting = base, s.Name
			}
		}
	}
	for _, what := range []string{"transient_deviation", "recovery_time", "time_to_safe", "highest_speed", "throttle_at_end"} {
		if moment, ok := strings.CutPrefix(name, what+"_"); ok && moment != "heard" {
			name, k.Moment = what, moment
		}
	}
	k.What = name
	return k
}

// loops gives their load to the loops of a record of before it stood apart.
func loops(all []runlog.Loop) []runlog.Loop {
	for i := range all {
		if l := &all[i]; l.Load == "" {
			l.Load = keyOf(l.Name, nil).Load
			if l.Load == "" {
				l.Load = measure.Load(l.Name)
			}
		}
	}
	return all
}
