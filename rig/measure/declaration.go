package measure

import (
	"fmt"
	"math"

	"govrig/sim/words"
)

// Declaration says what a measure is before anybody has taken it.
type Declaration struct {
	// Name is the stable key, lower case with underscores.
	Name string
	// Key is what it is of; without one, what the name says, at no setting.
	Key Key
	// About says in plain words what the moment of the key is, where that wants
	// saying: what was done in a fault.
	About string
	// Rig marks a measure of the rig itself, which tells how far to trust others.
	Rig bool
	// Unit is the unit of the value and of the limit: "rpm", "%", "s".
	Unit string
	// Meaning is one plain sentence for the person at the bench.
	Meaning string
	// Convention names the published definition that the number follows.
	Convention string
	// Limit is what the value must meet. Nil means that any value will do.
	Limit *Limit
	// Optional marks a measure that may rightly have nothing to measure, such
	// as the frequency of hunting in a run that does not hunt. When it is not
	// taken it shows as not run and does not hold back the whole result. A
	// measure with a limit is never optional.
	Optional bool
}

// Limit is what a value must meet, both ends included. A nil end is open.
type Limit struct {
	Min *float64 `json:"min,omitempty"`
	Max *float64 `json:"max,omitempty"`
}

// AtMost makes a limit with an upper end only.
func AtMost(highest float64) *Limit { return &Limit{Max: &highest} }

// AtLeast makes a limit with a lower end only.
func AtLeast(lowest float64) *Limit { return &Limit{Min: &lowest} }

// Between makes a limit with two ends.
func Between(lowest, highest float64) *Limit {
	return &Limit{Min: &lowest, Max: &highest}
}

// Met reports whether v lies within the limit. A nil limit is met by any number;
// NaN meets no limit.
func (l *Limit) Met(v float64) bool {
	if math.IsNaN(v) {
		return false
	}
	if l == nil {
		return true
	}
	return (l.Min == nil || v >= *l.Min) && (l.Max == nil || v <= *l.Max)
}

// Validate refuses a limit that no value can meet.
func (l *Limit) Validate() error {
	if l == nil {
		return nil
	}
	if l.Min == nil && l.Max == nil {
		return fmt.Errorf("a limit needs a lower or an upper end")
	}
	for _, end := range []*float64{l.Min, l.Max} {
		if end != nil && math.IsNaN(*end) {
			return fmt.Errorf("a limit may not be NaN")
		}
	}
	if l.Min != nil && l.Max != nil && *l.Min > *l.Max {
		return fmt.Errorf("lower limit %g lies above upper limit %g", *l.Min, *l.Max)
	}
	return nil
}

// String writes the limit for a person: "≤ 2", "≥ -10", "-10 to 12".
func (l *Limit) String() string {
	switch {
	case l == nil:
		return ""
	case l.Min == nil && l.Max == nil:
		return ""
	case l.Min == nil:
		return "≤ " + words.Number(*l.Max)
	case l.Max == nil:
		return "≥ " + words.Number(*l.Min)
	}
	return words.Number(*l.Min) + " to " + words.Number(*l.Max)
}
