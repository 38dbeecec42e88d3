package servo

import (
	"math"

	"govrig/sim/bound"
)

// Params describes a throttle servo as a pulse width in and an arm angle out.
type Params struct {
	// PulseLow and PulseHigh are the pulse widths at the two ends of the
	// calibrated travel, s, above 0, PulseLow shorter by 50 µs or
	// more. Pulses
	// beyond them leave the arm at its end.
	PulseLow, PulseHigh float64
	// Travel is the arm's angle from PulseLow to PulseHigh, rad, above 0. The
	// arm stands at −Travel/2 at PulseLow and at +Travel/2 at PulseHigh.
	Travel float64
	// Rate is the greatest speed of the arm, rad/s, above 0. A data sheet's
	// "0.10 s for 60°" is 10.5 rad/s.
	Rate float64
	// DeadBand is the full width of the band of pulse width in which the motor
	// stays still, s, 0 or more.
	DeadBand float64
	// Resolution is the smallest step of pulse width that the servo tells
	// apart, s, 0 (continuous) or more.
	Resolution float64
	// Latency is the time from the end of a pulse to the motor's answer, s,
	// 0 or more.
	Latency float64
	// Backlash is the full play of gears and linkage at the arm, rad, 0 or
	// more.
	Backlash float64
}

// Validate reports the first field outside its range, as a *bound.Error.
func (p Params) Validate() error {
	return bound.Of("servo").
		Positive("PulseLow", p.PulseLow, "s").
		Field("PulseHigh", p.PulseHigh, p.PulseLow+50e-6, math.MaxFloat64, "s").
		Positive("Travel", p.Travel, "rad").
		Positive("Rate", p.Rate, "rad/s").
		NotNegative("DeadBand", p.DeadBand, "s").
		NotNegative("Resolution", p.Resolution, "s").
		NotNegative("Latency", p.Latency, "s").
		NotNegative("Backlash", p.Backlash, "rad").
		Err()
}
