package governed

import (
	"math"

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

// Droops reports whether it is a droop that the speed sags by so many % from before a
// load: it gives the speed back as the load goes off. What leaves another speed then is
// a dead band, or the speed wanders.
func (g *Governor) Droops(sag float64, before, back measure.Reading) bool {
	left := 100 * math.Abs(back.Value-before.Value) / g.Declared()
	return g.DeadBand == 0 && before.OK() && back.OK() && left < backShare*sag
}

// backShare is how much of a droop may be left once the load is off again, a share.
const backShare = 0.25

// TellDroop says what it means that the speed sags by so many %.
func (g *Governor) TellDroop(t *execution.Test, sag float64) {
	found, next := finding.Droop(sag)
	t.Found("%s: %s", g.Setting.Name, found)
	t.Next("%s", next)
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
