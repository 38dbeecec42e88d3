package pickup

import (
	"math"

	"govrig/rig/measure/mounting"
	"govrig/sim/pickup"
)

// PickupKind is what a pickup turned out to be, in words.
type PickupKind string

// What a pickup can turn out to be.
const (
	PickupRight      PickupKind = "right"
	PickupNearLimit  PickupKind = "right, but near the limit of its gap"
	PickupUnlike     PickupKind = "not as the machine file has it"
	PickupWrongCount PickupKind = "wrong number of pulses"
	PickupIrregular  PickupKind = "irregular"
	PickupUneven     PickupKind = "uneven"
	PickupNothing    PickupKind = "no pulses"
	PickupStuck      PickupKind = "always on"
	PickupUnread     PickupKind = "not yet clear"
)

// PickupVerdict is what is to be made of a pickup.
type PickupVerdict struct {
	Kind PickupKind
	// PerTurn is the number of pulses in a turn.
	PerTurn int
	// Causes are the mountings from which the pulses, or there being none, can
	// come, the likeliest first.
	Causes []mounting.Cause
	// Spacing and Width tell how unlike the magnets are: shares.
	Spacing, Width float64
}

const (
	notWhole    = 0.3  // of a pulse a turn
	mostSpacing = 0.05 // shares by which magnets may differ
	mostWidth   = 0.2
	// leastMargin is the field there should be over the field that the least
	// sensitive part needs: common practice, no source.
	leastMargin = 2
)

// verdict judges a stretch of pulses.
func (j *judge) verdict(s seen) PickupVerdict {
	v := PickupVerdict{PerTurn: s.PerTurn}
	switch {
	case s.pulses == 0 && s.stuck:
		v.Kind, v.PerTurn, v.Causes = PickupStuck, 0, j.book.Silent(true)
		return v
	case s.pulses == 0:
		v.Kind, v.PerTurn, v.Causes = PickupNothing, 0, j.book.Silent(false)
		return v
	case s.pulses < 4*max(1, s.PerTurn):
		v.Kind = PickupUnread
		return v
	case !s.ok || s.Missing+s.Extra > 0 || math.Abs(s.exact-float64(s.PerTurn)) > notWhole:
		v.Kind = PickupIrregular
		return v
	}
	even := s.Turning
	if s.PerTurn%j.parts == 0 {
		even, v.Spacing, v.Width = s.Fold(j.parts)
	}
	v.Causes = j.book.Explain(even)
	v.Kind = j.kind(v, 100*s.Width())
	return v
}

// kind judges regular pulses of a mean width, % of the turn.
func (j *judge) kind(v PickupVerdict, width float64) PickupKind {
	switch {
	case v.PerTurn != j.governor:
		return PickupWrongCount
	case v.Spacing > mostSpacing || v.Width > mostWidth:
		return PickupUneven
	}
	c, ok := v.asFiled()
	switch {
	case !ok || width < j.low || width > j.high:
		return PickupUnlike
	case c.Tells() && fieldMargin(c) < leastMargin:
		return PickupNearLimit
	}
	return PickupRight
}

// asFiled is the likeliest cause in which nothing but perhaps the gap differs
// from the machine file.
func (v PickupVerdict) asFiled() (mounting.Cause, bool) {
	for _, c := range v.Causes {
		if c.Change == mounting.AsFiled {
			return c, true
		}
	}
	return mounting.Cause{}, false
}

// gap is the estimate of the gap, m: that of the file's mounting where it is
// right, or where the pulses can come from nothing else.
func (v PickupVerdict) gap() (float64, bool) {
	c, ok := v.asFiled()
	sure := v.Kind == PickupRight || v.Kind == PickupNearLimit || len(v.Causes) == 1
	return c.Gap, ok && sure && c.Tells() && v.PerTurn > 0
}

// fieldMargin is the field that a mounting gives over the field that the least
// sensitive part needs.
func fieldMargin(c mounting.Cause) float64 {
	is, err := pickup.Predict(c.Params)
	if err != nil {
		return 0
	}
	return is.Margin
}
