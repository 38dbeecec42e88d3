package gallery

import (
	"slices"
	"strings"

	"govrig/rig/execution"
	"govrig/rig/measure"
)

// seen is what a procedure said of a governor.
type seen struct {
	Member, Procedure     string
	Outcome               measure.Outcome
	Found, Next, Warnings []string
	Missed                []string // measures that failed or broke, with their values
	Values                map[string]float64
	Bounds                map[string]bool    // of the values, those that are lower bounds
	Unsure                map[string]float64 // how far off each may be, as it says
}

func saw(member, procedure string, r *execution.Run) seen {
	s := seen{
		Member: member, Procedure: procedure, Outcome: r.Result.Outcome,
		Found: r.Found, Next: r.Next, Warnings: r.Result.Warnings, Values: map[string]float64{}, Bounds: map[string]bool{}, Unsure: map[string]float64{},
	}
	for i := range r.Result.Measures {
		m := &r.Result.Measures[i]
		if m.Value != nil {
			s.Values[m.Name], s.Bounds[m.Name], s.Unsure[m.Name] = *m.Value, m.AtLeast, m.Uncertainty
		}
		if m.Outcome == measure.Fail || m.Outcome == measure.Error {
			s.Missed = append(s.Missed, m.Name+" = "+valueOf(m))
		}
	}
	return s
}

// says reports whether a sentence has a topic. What tune tells of positions of the
// gain that it tried is no finding about the governor.
func (s *seen) says(t topic) bool {
	of := topics[t]
	return slices.ContainsFunc(slices.Concat(s.Found, s.Next), func(sentence string) bool {
		return !strings.HasPrefix(sentence, "Gain at ") && !strings.HasPrefix(sentence, "Some could not be measured") && of.MatchString(sentence)
	})
}
