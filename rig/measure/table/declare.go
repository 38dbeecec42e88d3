package table

import (
	"fmt"
	"math"

	"govrig/rig/measure"
)

// Names of the measures.
const (
	GovernedSpeed     = "governed_speed"
	SteadyBand        = "steady_state_speed_band"
	PeakDeviation     = "peak_deviation"
	TransientDev      = "transient_deviation"
	TransientDevFinal = "transient_deviation_from_final"
	RecoveryTime      = "recovery_time"
	RecoveryFromEvent = "recovery_time_from_event"
	Overshoot         = "overshoot"
	RiseTime          = "rise_time"
	Settling2         = "settling_time_2pct"
	Settling5         = "settling_time_5pct"
	Droop             = "speed_droop"
	HuntingFrequency  = "hunting_frequency"
	HuntingAmplitude  = "hunting_amplitude"
	HuntingThrottle   = "hunting_throttle"
)

// declare says what will be measured. The conventions of some depend on what
// kind of step the log holds.
func declare(o Options, c *collector, k kind) []measure.Declaration {
	noEvent := math.IsNaN(c.event) || o.found
	base := fmt.Sprintf("%s speed %.6g rpm", o.reference, o.Declared)
	overshoot := "IEEE 181 (from memory): % of the change of level"
	settle := "from the command to staying within ±%d %% of the change of level, crossings interpolated (control text-books)"
	if k == loadStep {
		overshoot = "swing past the new steady speed to the other side of the dip, % of the " + base + " (as TM 5-6115-275-14 counts it)"
		settle = "from the load change to staying within ±%d %% of the greatest deviation, about the new speed, crossings interpolated"
	}
	d := []measure.Declaration{
		{Name: GovernedSpeed, Unit: "rpm", Meaning: "Mean speed while steady.",
			Convention: "mean over time"},
		{Name: SteadyBand, Unit: "%", Meaning: "How far the speed wanders while nothing changes.",
			Convention: "ISO 8528-5 (from memory): full width, highest less lowest, % of the " + base},
		{Name: PeakDeviation, Unit: "%", Optional: noEvent, Meaning: "Greatest departure from the speed before the event.",
			Convention: "100·(extreme − speed before)/" + base},
		{Name: TransientDev, Unit: "%", Optional: noEvent, Meaning: "How far the speed gets from the declared speed; a dip is negative.",
			Convention: "ISO 8528-5 (from memory): 100·(extreme − declared)/" + base},
		{Name: TransientDevFinal, Unit: "%", Optional: true, Meaning: "The same, from the new steady speed.",
			Convention: "TM 5-6115-275-14: 100·(extreme − new steady speed)/" + base},
		{Name: RecoveryTime, Unit: "s", Optional: noEvent, Meaning: "Time until the speed is back for good, once it has left.",
			Convention: fmt.Sprintf("ISO 8528-5 (from memory): clock from leaving the band about the speed before, to the lasting return into the band about the new steady speed; both bands %.3g %% full width (±%.3g %%) of the %s", o.Band, o.Band/2, base)},
		{Name: RecoveryFromEvent, Unit: "s", Optional: noEvent, Meaning: "The same, counted from the event itself.",
			Convention: fmt.Sprintf("clock from the event; band %.3g %% full width (±%.3g %%) of the %s", o.Band, o.Band/2, base)},
		{Name: Overshoot, Unit: "%", Optional: true, Meaning: "How far the speed goes past where it ends.", Convention: overshoot},
		{Name: RiseTime, Unit: "s", Optional: true, Meaning: "How fast the speed changes over.",
			Convention: "IEEE 181 (from memory): 10 % to 90 % of the change of level, crossings interpolated"},
		{Name: Settling2, Unit: "s", Optional: true, Meaning: "Time until the speed stays close to where it ends.", Convention: fmt.Sprintf(settle, 2)},
		{Name: Settling5, Unit: "s", Optional: true, Meaning: "Time until the speed stays near where it ends.", Convention: fmt.Sprintf(settle, 5)},
		{Name: Droop, Unit: "%", Optional: true, Meaning: "How much the steady speed sags under load; 0 is isochronous.",
			Convention: "ISO 8528-5 (from memory): 100·(speed at less load − speed at more load)/" + base},
		{Name: HuntingFrequency, Unit: "Hz", Optional: true, Meaning: "How often the speed swings, if it keeps swinging by itself.",
			Convention: "four-parameter sine fit, IEEE 1057 (from memory)"},
		{Name: HuntingAmplitude, Unit: "rpm", Optional: true, Meaning: "How far it swings either way; 0 when it does not hunt.",
			Convention: "half of peak to peak of the mean cycle, harmonics included"},
		{Name: HuntingThrottle, Unit: "µs", Optional: true, Meaning: "How far the throttle swings with it, either way.",
			Convention: "peak of the fundamental at the hunting frequency"},
	}
	for i := range d {
		d[i].Limit = o.Limits[d[i].Name]
	}
	return d
}

// Measures lists the names of all measures.
func Measures() []string {
	var names []string
	for _, d := range declare(Options{}, &collector{}, setPoint) {
		names = append(names, d.Name)
	}
	return names
}
