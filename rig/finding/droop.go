package finding

import "fmt"

// bandMost is a sag, %, that a dead band may well make, too (our own: wider ones are
// felt by anyone who turns the governor's speed).
const bandMost = 2.0

// Droop says what it means that a speed stays so many % lower under a load, and is back
// without it.
func Droop(sag float64) (found, next string) {
	if sag <= bandMost {
		return fmt.Sprintf("under the heavy load the speed stays %.1f %% lower; why cannot be told: a governor without an integral part does that, and one with a dead band.", sag),
			"Look in the governor's manual for its integral, and for a dead band that can be made smaller."
	}
	return fmt.Sprintf("under the heavy load the speed stays %.1f %% lower: the governor does not bring it back (no integral part, or a very slow one).", sag),
		"Look in the governor's manual for its integral, or for a mode with less droop."
}
