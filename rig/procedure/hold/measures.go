package hold

import (
	"govrig/rig/execution/governed"
	"govrig/rig/measure"
	"govrig/sim/machine"
)

func holdMeasures(m *machine.Machine, setting machine.SpeedSetting) []measure.Declaration {
	droop := governed.DroopLimit(setting)
	return append(governed.SteadyMeasures(setting),
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
			Name: "select_width", Unit: "µs",
			Meaning: "Select pulse that gives the wanted speed.",
		},
		measure.Declaration{
			Name: "select_travel", Unit: "%",
			Meaning:    "The same as travel on a transmitter.",
			Convention: "common practice, no source: the governor's two select ends are -100 % and 100 %",
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
}
