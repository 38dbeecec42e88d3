package servo

import "govrig/sim/bound"

// Params describes a throttle servo as a pulse width in and an arm angle out.
type Params struct {
	// PulseLow and PulseHigh are the pulse widths at the two ends of the
	// calibrated travel, s, 0.2e-3 to 3e-3, PulseLow the shorter. Pulses
	// beyond them leave the arm at its end.
	PulseLow, PulseHigh float64
	// Travel is the arm's angle from PulseLow to PulseHigh, rad, 0.1 to π. The
	// arm stands at −Travel/2 at PulseLow and at +Travel/2 at PulseHigh.
	Travel float64
	// Rate is the greatest speed of the arm, rad/s, 0.5 to 100. A data sheet's
	// "0.10 s for 60°" is 10.5 rad/s.
	Rate float64
	// DeadBand is the full width of the band of pulse width in which the motor
	// stays still, s, 0 to 50e-6.
	DeadBand float64
	// Resolution is the smallest step of pulse width that the servo tells
	// apart, s, 0 (continuous) to 50e-6.
	Resolution float64
	// Latency is the time from the end of a pulse to the motor's answer, s,
	// 0 to 0.1.
	Latency float64
	// Backlash is the full play of gears and linkage at the arm, rad, 0 to
	// 0.2.
	Backlash float64
}

// Validate reports the first field outside its range, as a *bound.Error.
func (p Params) Validate() error {
	return bound.Of("servo").
		Field("PulseLow", p.PulseLow, 0.2e-3, 3e-3, "s").
		Field("PulseHigh", p.PulseHigh, p.PulseLow+50e-6, 3e-3, "s").
		Field("Travel", p.Travel, 0.1, 3.15, "rad").
		Field("Rate", p.Rate, 0.5, 100, "rad/s").
		Field("DeadBand", p.DeadBand, 0, 50e-6, "s").
		Field("Resolution", p.Resolution, 0, 50e-6, "s").
		Field("Latency", p.Latency, 0, 0.1, "s").
		Field("Backlash", p.Backlash, 0, 0.2, "rad").
		Err()
}
