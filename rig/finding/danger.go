package finding

import (
	"fmt"
	"strings"

	"govrig/rig/measure"
)

// Measures of a fault, by what they measure; the moment is the fault.
const (
	TimeToSafe    = "time_to_safe"
	HighestSpeed  = "highest_speed"
	ThrottleAtEnd = "throttle_at_end"
)

// Danger says in one sentence what the worst is that a governor does when something
// at its inputs fails, from the measures of faults that missed their limits; empty is
// nothing. A throttle that stays open is worse than a speed that is too high, and that
// worse than safety that comes late; of faults alike, the first done counts.
func Danger(result measure.Result) string {
	for _, what := range []string{ThrottleAtEnd, HighestSpeed, TimeToSafe} {
		for i := range result.Measures {
			m := &result.Measures[i]
			if m.Key.What == what && m.Key.Moment != "" && m.Outcome == measure.Fail {
				return fmt.Sprintf("With %s %s: start no engine with this governor.", about(m), consequence(&result, m))
			}
		}
	}
	return ""
}

// wideOpen is a throttle at its open end, %.
const wideOpen = 95

// consequence is what a measure of a fault that missed its limit means.
func consequence(result *measure.Result, m *measure.Measure) string {
	switch m.Key.What {
	case ThrottleAtEnd:
		return "the throttle stays open"
	case HighestSpeed:
		return fmt.Sprintf("the engine reaches %.0f %% of the wanted speed", *m.Value)
	}
	end := m.Key
	end.What = ThrottleAtEnd
	switch at := result.Get(end); {
	case at != nil && at.Limit != nil:
		return fmt.Sprintf("the throttle is not closed for good within %.1f s", *m.Value)
	case at != nil && at.Value != nil && *at.Value > wideOpen:
		return "the throttle stays wide open"
	}
	return fmt.Sprintf("the governor neither holds the speed nor closes the throttle for %.1f s", *m.Value)
}

// about is the fault of a measure in words.
func about(m *measure.Measure) string {
	if m.About != "" {
		return m.About
	}
	return strings.ReplaceAll(m.Key.Moment, "_", " ")
}
