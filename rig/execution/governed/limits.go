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

// SpeedErrorLimit is how far off the wanted speed, rad/s, a setting may stay, in %:
// the machine file's max_speed_error; where it has none, half a per cent or half of
// the governor's own step of the speed setting, whichever is more.
func SpeedErrorLimit(gov *machine.Governor, setting machine.SpeedSetting, speed float64) *measure.Limit {
	most := max(usualSpeedError, 100*SettingTolerance(gov, speed))
	if e := setting.Limits.SpeedError; e != nil {
		most = 100 * float64(*e)
	}
	return measure.Between(-most, most)
}

// usualSpeedError stands in for a limit that the machine file leaves out, %: our own.
const usualSpeedError = 0.5

// SpeedErrorConvention says so.
const SpeedErrorConvention = "limit: the machine file's max_speed_error, or else 0.5 %, or half the step of the speed setting where that is more"
