package accept

import (
	"govrig/rig/execution"
	"govrig/rig/measure"
)

// acceptMeasures declares the measures of Accept.
func (a *acceptTest) measures() []measure.Declaration {
	g := a.m.Governor
	return append(a.pulseMeasures(), []measure.Declaration{
		{
			Name: "counts_per_pulse", Unit: "1", Limit: measure.Between(1, 1),
			Convention: "lowest speed setting over the pickup speed at which the throttle no longer opens, to the nearest of 1/2, 1, 2, 3, 4; between lowest and highest setting, the select line has to make the difference",
			Meaning:    "How many pulses the governor counts for each one that it is given.",
		},
		{
			Name: "lowest_speed_heard", Unit: "rpm", Limit: measure.AtMost(float64(g.SpeedLow) * execution.RPM),
			Convention: "of the engine, to 10 %; limit: the lowest speed setting",
			Meaning:    "Slowest engine whose pulses still make a difference.",
		},
		{
			Name: "highest_speed_heard", Unit: "rpm", Limit: measure.AtLeast(float64(g.SpeedHigh) * execution.RPM),
			Convention: "of the engine, to 1 %, played up to 3 % over the highest speed setting; limit: that setting",
			Meaning:    "Fastest engine whose pulses still make a difference.",
		},
		{
			Name: "missing_pulses_ridden_over", Unit: "1", Limit: measure.AtLeast(1),
			Convention: "in a row, 1, 2, 4 and so on to 128; ridden over is an engine speed that stays within 2 %; limit: our own, one pulse missed in flight is nothing strange",
			Meaning:    "How many pulses may be missing before the engine shows it.",
		},
		{
			Name: "stray_pulses_ridden_over", Unit: "1", Limit: measure.AtLeast(1),
			Convention: "each between two regular ones and some milliseconds from the next, 1, 2, 4 and so on to 16; the same limit",
			Meaning:    "How many pulses too many, as of ignition noise, may come before the engine shows it.",
		},
	}...)
}

func (a *acceptTest) pulseMeasures() []measure.Declaration {
	return []measure.Declaration{
		{
			Name: "own_pulses_heard", Unit: "%", Limit: measure.AtLeast(100),
			Convention: "of the speeds at which any kind of pulse makes a difference, with the level and width that the machine's magnet and sensor make; heard is a throttle other than without pulses",
			Meaning:    "Whether the governor hears pulses such as this machine's pickup makes.",
		},
		{
			Name: "other_polarity_heard", Unit: "%", Convention: "of the widths and speeds played",
			Meaning: "The same for pulses of the other polarity; hearing them too does no harm.",
		},
		{
			Name: "narrowest_pulse_heard", Unit: "µs", Limit: measure.AtMost(1e6 * a.ownWidth(float64(a.m.Governor.SpeedHigh))),
			Convention: "of the machine's own polarity, heard at every speed at which it was played; limit: the machine's own pulse at the highest speed setting",
			Meaning:    "Narrowest pulse that it hears.",
		},
		{
			Name: "widest_pulse_heard", Unit: "µs", Convention: "of the machine's own polarity, heard at every speed at which it was played",
			Meaning: "Widest pulse that it hears.",
		},
	}
}

// rideMeasures are the names of those that need a governed engine.
var rideMeasures = []string{"missing_pulses_ridden_over", "stray_pulses_ridden_over"}
