package procedure

import (
	"govrig/rig/measure"
	"govrig/rig/measure/step"
	"govrig/sim/machine"
)

func steadyMeasures(setting machine.SpeedSetting) []measure.Declaration {
	head := measure.Declaration{
		Name: "head_speed", Unit: "rpm",
		Meaning:    "Mean speed of the main rotor while the load is steady.",
		Convention: "mean over the steady phase; the limits are the wanted head speed with its allowed error",
	}
	if e := setting.Limits.SpeedError; e != nil {
		wanted := float64(setting.HeadSpeed) * rpm
		head.Limit = measure.Between(wanted*(1-float64(*e)), wanted*(1+float64(*e)))
	}
	return []measure.Declaration{
		{
			Name: "governed_speed", Unit: "rpm",
			Meaning:    "Mean speed of the engine while the load is steady.",
			Convention: "mean over the steady phase",
		},
		head,
		{
			Name: "steady_state_speed_band", Unit: "%", Limit: percent(setting.Limits.Band),
			Meaning:    "How much the speed wanders while the load is steady: fastest less slowest.",
			Convention: "ISO 8528-5 β: full width of the envelope, in % of the declared (wanted) speed",
		},
	}
}

func (g *governed) readSteady(t *test, part *Trace) {
	from, to := part.phase(g.name(phaseSteady))
	g.take(t, "governed_speed", step.MeanSpeed(part.speed(from, to)))
	g.take(t, "head_speed", step.MeanSpeed(part.head(from, to)))
	g.take(t, "steady_state_speed_band", step.SteadyBand(part.speed(from, to), g.declared()))
}
