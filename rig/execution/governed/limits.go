package governed

import (
	"govrig/rig/measure"
	"govrig/sim/machine"
)

// SettleHold is how long the speed has to stay where it is after a change of
// setting, s.
const SettleHold = 1.5

// BeforeTime is the window just before a load change in which the speed before
// is read, s.
const BeforeTime = 2.0

// Tolerance is the full width of the band about the new speed in which a load
// step counts as recovered, in % of the declared speed: α of ISO 8528-5 for
// its classes G2 and G3 (from memory).
const Tolerance = 2.0

// Deviations are the limits of dip and rise, in %.
func Deviations(l machine.Limits) (dip, rise *measure.Limit) {
	if dip = percent(l.Dip); dip != nil {
		dip = measure.AtLeast(-*dip.Max)
	}
	return dip, percent(l.Overshoot)
}
