package commission

import (
	"fmt"
	"maps"
	"slices"

	"govrig/protocol/harmless"
	"govrig/rig/execution"
	"govrig/rig/procedure"
	"govrig/sim/machine"
)

// Stale is what a change of the machine file has made of a step that was done.
type Stale struct {
	// Settings are the speed settings that it is to be done again at; none is all.
	Settings []string `json:"settings,omitempty"`
	// Why says what has changed; empty is nothing, and the step stands.
	Why []string `json:"why,omitempty"`
}

// whole reports whether the step is to be done again at every setting.
func (s Stale) whole() bool { return len(s.Why) > 0 && len(s.Settings) == 0 }

// Any reports whether anything is to be done again.
func (s Stale) Any() bool { return len(s.Why) > 0 }

// at reports whether the step is to be done again at a setting.
func (s Stale) at(setting string) bool { return s.whole() || slices.Contains(s.Settings, setting) }

// mostTold is how many changes are told one by one.
const mostTold = 3

// text says what has changed.
func (s Stale) text() string { return listed(s.Why, mostTold) }

// staleness compares what a run of a procedure read of the machine file with what
// it would read of the machine now. A procedure that is done at each speed setting
// is stale at those that have changed or come; one that is gone matters to it no
// more.
func staleness(p *execution.Procedure, read map[string]string, m *machine.Machine, setting string, simulated bool) (s Stale) {
	now := execution.ReadOf(m, p.Reads, setting, simulated)
	whole, changedAt := false, map[string]bool{}
	for _, path := range slices.Sorted(maps.Keys(union(read, now))) {
		was, is := read[path], now[path]
		at := execution.SettingOf(path)
		_, there := m.Speed(at)
		if was == is || p.PerSetting && at != "" && !there {
			continue
		}
		s.Why = append(s.Why, changed(path, was, is))
		whole, changedAt[at] = whole || at == "" || !p.PerSetting, true
	}
	if whole || len(changedAt) == len(m.Speeds) {
		return s
	}
	for _, speed := range m.Speeds {
		if changedAt[speed.Name] {
			s.Settings = append(s.Settings, speed.Name)
		}
	}
	return s
}

func union(a, b map[string]string) map[string]string {
	all := map[string]string{}
	maps.Copy(all, a)
	maps.Copy(all, b)
	return all
}

// changed says how a value has changed.
func changed(path, was, is string) string {
	path, was, is = harmless.Line(path), harmless.Line(was), harmless.Line(is)
	switch {
	case was == "":
		return fmt.Sprintf("%s, %s, is new", path, is)
	case is == "":
		return fmt.Sprintf("%s, %s, is gone", path, was)
	}
	return fmt.Sprintf("%s was %s and is %s now", path, was, is)
}

// age finds what a machine file as it is now makes stale of what has been done.
func (s *State) age(m *machine.Machine) {
	for i := range s.Steps {
		step := &s.Steps[i]
		if p := s.procedures.Find(step.Name); p != nil && p.NeedsMachine() && step.Outcome != "" {
			step.Stale = staleness(p, step.Read, m, step.Setting, s.Virtual)
		}
	}
}

// StepsOf are the steps of a list, none of them done.
func StepsOf(list procedure.List) (steps []Step) {
	for _, p := range list {
		steps = append(steps, Step{Name: p.Name, Optional: p.Optional})
	}
	return steps
}
