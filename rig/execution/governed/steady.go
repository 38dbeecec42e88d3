package governed

import (
	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/measure/step"
	"govrig/rig/phase"
	"govrig/sim/machine"
)

func SteadyMeasures(setting machine.SpeedSetting) []measure.Declaration {
	head := measure.Declaration{
		Name: "head_speed", Unit: "rpm",
		Meaning:    "Mean speed of the main rotor while the load is steady.",
		Convention: "mean over the steady phase; the limits are the wanted head speed with its allowed error",
	}
	if e := setting.Limits.SpeedError; e != nil {
		wanted := float64(setting.HeadSpeed) * execution.RPM
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

// ReadSteady takes the measures of the steady phase in a part of the trace.
func (g *Governor) ReadSteady(t *execution.Test, part *execution.Trace) {
	from, to := part.Span(g.Key(phase.Steady))
	var speed, head step.Stretches
	speed.Add(part.EngineSpeed(from, to))
	head.Add(part.HeadSpeed(from, to))
	g.TakeSteady(t, &speed, &head)
}

// TakeSteady takes the measures of a steady phase, of the engine's and the head's
// speed in it.
func (g *Governor) TakeSteady(t *execution.Test, speed, head *step.Stretches) {
	g.Take(t, "governed_speed", speed.Mean())
	g.Take(t, "head_speed", head.Mean())
	g.Take(t, "steady_state_speed_band", speed.Band(g.Declared()))
}
