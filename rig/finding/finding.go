// Package finding is what may be said of a governor, and when. Each finding is a
// small function from what was measured to a statement, with the condition under
// which it may be said at all; where the condition does not hold the answer is
// that it cannot be told, which blames nobody and passes nothing.
package finding

// Verdict is whether something is so.
type Verdict int

// The verdicts. Nothing seen is CannotTell.
const (
	CannotTell Verdict = iota
	No
	Yes
)

// String is the verdict in words.
func (v Verdict) String() string { return [...]string{"cannot tell", "no", "yes"}[v] }
