package hold

import (
	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/phase"
)

// heavySettle is how long the heavy load settles before it is read, s.
const heavySettle = 4.0

// hold measures one setting. held is false when the governor does not hold it;
// part then shows what it does.
func hold(g *governed.Governor, t *execution.Test, time float64) (part execution.Trace, held bool, err error) {
	s, part, held, err := g.Seek(t)
	if !held || err != nil {
		return part, held, err
	}
	load := g.Machine.LoadStep
	part, held, err = t.Play(
		g.Phase(g.Key(phase.Steady), time),
		g.Load(g.Key(phase.LoadComes), float64(load.CollectiveHigh), float64(load.Ramp), heavySettle),
		g.Phase(g.Key(phase.Heavy), time),
		g.Load(g.Key(phase.LightAgain), float64(load.CollectiveLow), float64(load.Ramp), 1),
	)
	if err != nil || !held {
		return part, held, err
	}
	part.Calibrate(t.Session)
	g.ReadSteady(t, &part)
	readHold(g, t, &part, &s)
	return part, true, nil
}
