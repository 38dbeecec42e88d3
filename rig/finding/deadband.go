package finding

import (
	"fmt"

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
