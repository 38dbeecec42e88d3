package finding

import (
	"fmt"

	"govrig/rig/measure/engage"
)

// weakNext is what to do about an engine too weak for its load.
const weakNext = "Look at engine.mean_effective_pressure, engine.displacement and load_step in the machine file: give them the engine and the load that there are, or wish for a lower head speed."

// Weak reports whether it is the engine that does not hold a load: the throttle, a
// share of its travel, stands at its open end, the speed, rpm, is well below the
// wanted, and full throttle cannot hold that by the machine file.
func Weak(speed, wanted float64, throttle []float64, canHold bool) (found, next string, is bool) {
	open := engage.EndsOf(throttle, 0, 1, atEnd).High
	if open < 0.8 || speed > (1-nearWanted)*wanted || canHold {
		return "", "", false
	}
	return fmt.Sprintf("the throttle is wide open under the load and the engine gives %.0f rpm where %.0f are wanted: by the machine file the engine is too weak for this load.", speed, wanted), weakNext, true
}
