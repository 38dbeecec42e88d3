package hold

import (
	"slices"

	"govrig/rig/execution/governed"
	"govrig/rig/measure"
	"govrig/sim/machine"
)

func holdMeasures(m *machine.Machine, setting machine.SpeedSetting) []measure.Declaration {
	droop := governed.DroopLimit(setting)
	declared := append(governed.SteadyMeasures(setting),
		measure.Declaration{
			Name: "speed_setting_error", Unit: "%", Limit: governed.SpeedErrorLimit(&m.Governor, setting, float64(setting.HeadSpeed)*m.Ratio()),
			Meaning:    "How far off the wanted speed the engine stays with the best select pulse that was found.",
			Convention: governed.SpeedErrorConvention,
		},
		measure.Declaration{
			Name: "speed_droop", Unit: "%", Limit: measure.Between(-droop, droop),
			Meaning: "How much lower the speed stays while the load is heavy.",
			Convention: "ISO 8528-5 δ: steady speed under light less under heavy load, in % of the declared speed; " +
				"limit: the machine file's max_speed_error, or else 2 % (class G3 has 3 %, from memory)",
		},
		measure.Declaration{
			Name: "hunting_swing", Unit: "%", Limit: measure.AtMost(governed.MostHunting),
			Meaning: "How far the speed swings to and fro by hunting; 0 when it does not hunt.",
			Convention: "peak to peak of the mean cycle of a sustained oscillation, in % of the declared speed; " +
				"limit: the whole band of ISO 8528-5 class G3 (from memory)",
		},
		measure.Declaration{
			Name: "hunting_frequency", Unit: "Hz", Optional: true,
			Meaning: "How often it swings to and fro.",
		},
		measure.Declaration{
			Name: "hunting_amplitude", Unit: "rpm", Optional: true,
			Meaning: "How far the engine swings to either side, half of peak to peak.",
		},
	)
	declared = slices.Insert(declared, len(declared)-3, selectMeasures(m.Governor.Select)...)
	return append(declared, governed.New(m, setting).BladesMeasures()...)
}

// selectMeasures are those of the way in which the governor is asked for a speed.
func selectMeasures(kind machine.SelectKind) []measure.Declaration {
	width := measure.Declaration{
		Name: "select_width", Unit: "µs",
		Meaning: "Select pulse that gives the wanted speed.",
	}
	turn := measure.Declaration{
		Name: "setting_to_turn", Unit: "%",
		Meaning:    "How far the speed setting in the governor is still to be turned; above 0 is up.",
		Convention: "wanted speed over the one that was held, less 1",
	}
	switch kind {
	case machine.SelectNone:
		return []measure.Declaration{turn}
	case machine.SelectSteps:
		width.Meaning = "Select pulse with which the setting was picked."
		return []measure.Declaration{turn, width}
	}
	return []measure.Declaration{width, {
		Name: "select_travel", Unit: "%",
		Meaning:    "The same as travel on a transmitter.",
		Convention: "common practice, no source: the governor's two select ends are -100 % and 100 %",
	}}
}
