package pickup

import (
	"errors"
	"fmt"
	"slices"

	"govrig/protocol"
	"govrig/rig/execution"
	"govrig/rig/measure/mounting"
)

// widerGap is a wider gap, with all else as in the machine file, from which pulses
// would come like those of a pickup that is right.
func (v PickupVerdict) widerGap() (wider mounting.Cause, ok bool) {
	c, ok := v.asFiled()
	if !ok || !c.Tells() || v.Kind != PickupRight && v.Kind != PickupNearLimit {
		return wider, false
	}
	for _, other := range v.Causes {
		if other.Change == mounting.AsFiled && other.Low > c.High {
			return other, true
		}
	}
	return wider, false
}

// The two answers to askGap.
const nearGap, wideGap = "near", "wide"

// askGap asks which gap it is, where the width goes with two that are far apart, and
// gives the verdict on that one. Of a simulated pickup it is known, and nobody can
// look.
func (p *probing) askGap(v PickupVerdict) (PickupVerdict, error) {
	wider, ok := v.widerGap()
	id := &p.Session.Identity
	if !ok || id.Board == protocol.BoardVirtual || id.Marks&protocol.MarkEmulated != 0 {
		return v, nil
	}
	c, _ := v.asFiled()
	q := execution.Question{
		Key: "gap", Answers: []string{nearGap, wideGap},
		Text: fmt.Sprintf("Pulses of this width come from a gap of about %.1f mm, and from one of about %.1f mm. Look between magnet and sensor: which is it?", 1e3*c.Gap, 1e3*wider.Gap),
	}
	answer, err := p.Ask(q, silent("waiting", 0))
	if err != nil && !errors.Is(err, execution.ErrNotAsked) {
		return v, err
	}
	switch answer {
	case nearGap:
		v.Causes = slices.DeleteFunc(slices.Clone(v.Causes), func(o mounting.Cause) bool {
			return o.Change == mounting.AsFiled && o.Low > c.High
		})
	case wideGap:
		v.Causes = slices.Insert(slices.Clone(v.Causes), 0, wider)
		if v.Kind = PickupUnlike; fieldMargin(wider) < leastMargin {
			v.Kind = PickupNearLimit
		}
	default:
		p.gapUntold = true
		p.Next("Measure the gap between magnet and sensor, and run pickup again: it asks which of two gaps it is.")
	}
	return v, nil
}
