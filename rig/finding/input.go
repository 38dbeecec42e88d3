package finding

import (
	"cmp"
	"math"
	"slices"
)

// StickPoint is where a throttle stood while the stick was at a place: its least
// and greatest share of the travel. All are shares.
type StickPoint struct{ Stick, Low, High float64 }

const (
	// stillWithin is how much a throttle may move at one stick, a share, and
	// still stand there.
	stillWithin = 0.1
	// follows is the least share of a stick's move that a throttle makes which
	// follows it, whatever ends it was taught.
	follows = 0.5
)

// PassesStick reports whether a throttle goes where the stick goes and does nothing
// else: it stands still at every stick, and moves up from each to the next. With
// fewer than two sticks it cannot be told. Points may come in any order; those at
// the same stick must agree, with pulses and without.
func PassesStick(points []StickPoint) Verdict {
	points = slices.SortedStableFunc(slices.Values(points), func(a, b StickPoint) int { return cmp.Compare(a.Stick, b.Stick) })
	if len(points) == 0 || points[0].Stick == points[len(points)-1].Stick {
		return CannotTell
	}
	for i, p := range points {
		if p.High-p.Low > stillWithin {
			return No
		}
		if i == 0 {
			continue
		}
		before := points[i-1]
		moved, stick := p.High-before.High, p.Stick-before.Stick
		if stick == 0 && math.Abs(moved) > stillWithin || stick > 0 && moved < follows*stick {
			return No
		}
	}
	return Yes
}

// Crossing is a pair of pickup speeds, rad/s, between which a throttle no longer
// opens, asked for one setting.
type Crossing struct{ Open, Shut float64 }

// SelectWorks reports whether the select line has an effect: with it at its lowest
// the throttle is shut at a pickup speed at which it opens with it at its highest.
// It has none where the throttle stops opening at the same speed for both; without
// that, as of a governor that may not hear, nothing can be told.
func SelectWorks(opensAtLowest, opensAtHighest bool, lowest, highest Crossing) Verdict {
	switch {
	case !opensAtLowest && opensAtHighest:
		return Yes
	case lowest.Open > 0 && highest.Open > 0 && lowest.Open < highest.Shut && highest.Open < lowest.Shut:
		return No
	}
	return CannotTell
}

// Try is a kind of pickup pulse that was played, and whether the governor heard
// it. Width is in s.
type Try struct {
	Width float64
	Heard bool
}

// NarrowestHeard finds the width, s, from which on pulses are heard, where nothing
// but the width decides: all narrower ones are not heard, all others are. deaf is
// the widest that is not. ok is false where all or none are heard, or where
// something else decides.
func NarrowestHeard(tries []Try) (heard, deaf float64, ok bool) {
	for _, t := range tries {
		if t.Heard && (heard == 0 || t.Width < heard) {
			heard = t.Width
		}
		if !t.Heard {
			deaf = max(deaf, t.Width)
		}
	}
	return heard, deaf, heard > 0 && deaf > 0 && deaf < heard
}
