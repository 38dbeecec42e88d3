package governed

import (
	"govrig/rig/execution"
	"govrig/rig/finding"
	"govrig/rig/measure"
	"govrig/rig/measure/step"
	"govrig/sim/heli"
	"govrig/sim/machine"
)

// Droop is from the light to the heavy end of the load step.
func (g *Governor) Droop(light, heavy measure.Reading) measure.Reading {
	plant := heli.New(g.Machine.HeliParams(), execution.StepTime)
	if _, _, err := plant.Trim(float64(g.Setting.HeadSpeed), float64(g.Machine.LoadStep.CollectiveHigh)); err != nil {
		return measure.Missing("%v", err)
	}
	return step.Droop(light, heavy, g.Declared())
}

// TellDroop says what it means that the speed sags by so many %.
func (g *Governor) TellDroop(t *execution.Test, sag float64) {
	t.Found("%s: under the heavy load the speed stays %.1f %% lower: the governor does not bring it back (no integral part, or a very slow one).",
		g.Setting.Name, sag)
	t.Next("Look in the governor's manual for its integral, or for a mode with less droop.")
}

// DroopLimit is how far the speed may stay down under load, in %.
func DroopLimit(setting machine.SpeedSetting) float64 {
	if e := setting.Limits.SpeedError; e != nil {
		return 100 * float64(*e)
	}
	return 2
}

// TellWeak says that it is the engine that cannot hold a load, a collective in rad,
// where samples from..to of part show that; said reports whether it was.
func (g *Governor) TellWeak(t *execution.Test, part *execution.Trace, from, to int, collective float64) (said bool) {
	found, next, said := finding.Weak(part.EngineSpeed(from, to).Mean(), g.Declared(), g.Shares(part.Throttle[from:to]), g.CanHold(collective))
	if said {
		t.Found("%s: %s", g.Setting.Name, found)
		t.Next("%s", next)
	}
	return said
}
