package commission

import (
	"strings"

	"govrig/rig/finding"
	"govrig/rig/measure"
	"govrig/rig/procedure"
	"govrig/sim/words"
)

// judged takes what a run of the step's procedure measured: what missed its limit, and
// the danger that lies in it.
func (s *Step) judged(result measure.Result) {
	for i := range result.Measures {
		if m := &result.Measures[i]; m.Outcome == measure.Fail {
			s.Missed = append(s.Missed, missed(m))
		}
	}
	if s.Danger == "" {
		s.Danger = finding.Danger(result)
	}
}

// missed says of a measure that missed its limit by what, in a few words.
func missed(m *measure.Measure) string {
	value, limit := words.WithUnit(words.Short(*m.Value), m.Unit), words.WithUnit(m.Limit.String(), m.Unit)
	return named(m) + words.Minus(" is "+value+", must be "+limit)
}

// named is a measure in words, with what tells it from others alike.
func named(m *measure.Measure) string {
	parts := []string{strings.ReplaceAll(m.Key.What, "_", " ")}
	switch {
	case m.About != "":
		parts = append(parts, "with "+m.About)
	case m.Key.Moment != "":
		parts = append(parts, strings.ReplaceAll(m.Key.Moment, "_", " "))
	}
	if m.Key.Load != "" {
		parts = append(parts, "under "+string(m.Key.Load)+" load")
	}
	text := strings.Join(parts, ", ")
	if m.Key.Setting != "" {
		text += ", at " + m.Key.Setting
	}
	return text
}

// title is what a page calls the step.
func (s *Step) title() string { return procedure.All.Title(s.Name) }

// titled is the same with the name of the procedure that does it.
func (s *Step) titled() string {
	if title := s.title(); title != s.Name {
		return title + " (" + s.Name + ")"
	}
	return s.Name
}
