package finding

import (
	"fmt"
	"slices"

	"govrig/rig/measure/response"
)

// SmallerBand is what to do about a dead band.
const SmallerBand = "Look in the governor's manual for a sensitivity or a dead band that can be made smaller."

// DeadBand reports whether a governor that was measured by itself has a dead band: it
// is deaf to a small change of speed and answers a larger one, or passes on clearly
// more of the larger.
func DeadBand(c response.Comparison, deaf bool) (found, next string, is bool) {
	switch {
	case deaf:
		return "The governor has a dead band: measured by itself, it answers large changes of speed and not small ones.", SmallerBand, true
	case c.Kind == response.DeadBand && c.Change > muchMore:
		return fmt.Sprintf("The governor has a dead band: measured by itself, it answers changes of speed %.1f times as large %.0f dB more strongly.", c.Ratio, c.Change), SmallerBand, true
	}
	return "", "", false
}

// muchMore is a change of gain, dB, that is no matter of a law whose gain grows with
// the error: those about double it from small errors to large ones.
const muchMore = 6.0

const (
	// leastMoved is a change of speed, a share of the wanted, that moves the throttle
	// of any governor that minds it by more than motionless, a share of the travel.
	leastMoved, motionless = 0.003, 0.0005
)

// StandsStill reports whether a governor leaves its throttle, a share of the travel and
// off its ends, quite where it is while the speed goes up and down by a share.
func StandsStill(throttle []float64, moved float64) (found, next string, is bool) {
	if len(throttle) == 0 || moved < leastMoved {
		return "", "", false
	}
	low, high := slices.Min(throttle), slices.Max(throttle)
	if high-low > motionless || low < atEnd || high > 1-atEnd {
		return "", "", false
	}
	return "The governor has a dead band, or an output that is too coarse: the throttle stands quite still for seconds while the engine's speed goes up and down.",
		SmallerBand, true
}
