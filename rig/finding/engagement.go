package finding

import (
	"fmt"
	"slices"

	"govrig/rig/measure"
	"govrig/rig/measure/engage"
)

// Engagement is whether a governor governs: steadiness alone, even at the wanted
// speed, shows no such thing.
type Engagement struct {
	Verdict
	// Why says why not, or why it cannot be told.
	Why string
	// Ends is how far the throttle stood at its ends.
	Ends engage.Ends
	// Answer is what the throttle did about the change of speed.
	Answer engage.Answer
}

const (
	// atEnd is how near an end of its travel, a share, the throttle is at it.
	atEnd = 0.02
	// leastAnswer is the weakest answer of a governor, share of the throttle's
	// travel for a share of speed: with less, ten per cent of speed would move
	// the throttle by less than two per cent of its travel, and no load would be
	// held (our own).
	leastAnswer = 0.2
)

// Engaged reports whether the throttle, off its ends, answered a sine of so many
// hertz on the played speed against its sense. played is in rpm about a mean,
// throttle in shares of its travel from closed to open.
func Engaged(played, throttle measure.Series, frequency float64) Engagement {
	e := Engagement{Ends: engage.EndsOf(throttle.Y, 0, 1, atEnd)}
	if e.Ends.Saturated() {
		e.Why = fmt.Sprintf("the throttle stands at its %s end, where it can answer nothing", endWord(e.Ends))
		return e
	}
	e.Answer = engage.ToSine(played, throttle, frequency)
	speed := played.Mean()
	switch e.Answer.Kind {
	case engage.Opposes:
		e.Verdict = Yes
	case engage.Follows:
		e.Verdict, e.Why = No, "the throttle opens when the engine turns faster"
	case engage.Silent:
		e.Why = "the throttle moves too much by itself to show an answer to a small change of speed"
		if least := e.Answer.Least * speed; least < leastAnswer {
			e.Verdict, e.Why = No, "the throttle does not answer a change of the engine's speed"
		}
	default:
		e.Why = e.Answer.Why
	}
	return e
}

// Follows reports whether a throttle stands where the stick has it: within some
// hundredths of the travel all the time. Both are shares.
func Follows(throttle []float64, stick float64) bool {
	return len(throttle) > 0 && slices.Min(throttle) > stick-0.05 && slices.Max(throttle) < stick+0.05
}

// endWord names the end at which a throttle mostly stands.
func endWord(e engage.Ends) string {
	if e.High > e.Low {
		return "open"
	}
	return "closed"
}
