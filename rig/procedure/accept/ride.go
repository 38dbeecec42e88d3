package accept

import (
	"math"

	"govrig/protocol"
	"govrig/rig"
	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/phase"
	"govrig/sim/words"
)

const (
	rides     = 0.02 // that the engine speed may leave its mean by, as a share
	rideTime  = 1.0  // s, that is watched after the pulses are right again
	mostLost  = 128  // pulses
	mostStray = 16
	strayAt   = 0.4   // of the way from pulse to pulse
	orderGap  = 0.004 // s, two telemetry frames
)

// ride closes the loop at the speed setting and disturbs the pulses.
func (a *acceptTest) ride() error {
	if why := a.unfit(); why != "" {
		a.noRide(why)
		return nil
	}
	// An engine idles before it is governed: go there as one does.
	if err := a.stand.Reset(float64(a.m.Engine.IdleSpeed)); err != nil {
		return err
	}
	if err := a.t.Configure(a.t.Bench.Settings(execution.Plan{})); err != nil {
		return err
	}
	g := governed.New(a.m, a.setting)
	g.Armed(a.up)
	_, held, err := g.TakeUp(a.t)
	if err != nil {
		return err
	}
	if !held {
		a.noRide(governed.WhyUnsteady)
		return nil
	}
	if err := a.rideOver(g, "stray_pulses_ridden_over", "stray", mostStray, func(n int) []rig.Phase { return strays(g, n) }); err != nil {
		return err
	}
	return a.rideOver(g, "missing_pulses_ridden_over", "missing", mostLost, func(n int) []rig.Phase { return missing(g, n) })
}

const whyMiscounted = "the governor counts another number of pulses than it is given, or it is not known how many"

// unfit says why there is no use in closing the loop, or nothing.
func (a *acceptTest) unfit() string {
	switch {
	case len(a.tried) == 0:
		return whyNotAgain
	case a.share(func(c combination) bool { return c.own }) < 100:
		return "the governor does not hear all of the machine's own pulses"
	case a.counts != 1:
		return whyMiscounted
	}
	return ""
}

func (a *acceptTest) noRide(why string) {
	for _, name := range rideMeasures {
		a.t.Sheet.NotRun(name, why)
	}
}

// rideOver doubles the number of disturbed pulses until the engine shows it.
func (a *acceptTest) rideOver(g *governed.Governor, measure, kind string, most int, disturb func(n int) []rig.Phase) error {
	steady, held, err := a.t.Play(g.Settled(phase.Of(phase.Steady), 10, 1))
	if err != nil {
		return err
	}
	if !held {
		a.t.Sheet.NotRun(measure, "the speed did not become steady again")
		return nil
	}
	before := steady.Speed[len(steady.Speed)-1]
	ridden, worst := 0, 0.0
	for n := 1; n <= most; n *= 2 {
		part, _, err := a.t.Play(append(disturb(n), g.Phase(phase.Key{Kind: phase.After, Of: kind, Number: n}, rideTime))...)
		if err != nil {
			return err
		}
		if worst = strayed(part.Speed, before); worst > rides {
			break
		}
		ridden = n
	}
	a.t.Sheet.Set(measure, float64(ridden))
	if ridden == most {
		a.t.Found("It rides over %s, the most that were played.", words.Count(ridden, kind+" pulse"))
		return nil
	}
	a.t.Found("It rides over %s in a row; at %d the speed goes off by %.1f %%.", words.Count(ridden, kind+" pulse"), max(1, 2*ridden), 100*worst)
	return nil
}

// strayed is the farthest that speeds go from one, as a share of it.
func strayed(speeds []float64, from float64) (worst float64) {
	for _, speed := range speeds {
		worst = max(worst, math.Abs(speed/from-1))
	}
	return worst
}

// missing leaves out n pulses.
func missing(g *governed.Governor, n int) []rig.Phase {
	p := g.Phase(phase.Key{Kind: "missing", Number: n}, float64(n+1)*g.Spacing())
	p.Faults = []protocol.Fault{{Kind: protocol.FaultDrop, Value: uint16(n)}}
	return []rig.Phase{p}
}

// strays adds n pulses, each in a spacing of its own: the orders are so far apart
// that a regular pulse comes between.
func strays(g *governed.Governor, n int) (phases []rig.Phase) {
	for range n {
		p := g.Phase(phase.Key{Kind: "stray", Number: n}, g.Spacing()+orderGap)
		p.Faults = []protocol.Fault{{Kind: protocol.FaultStray, Value: uint16(1e6 * strayAt * g.Spacing())}}
		phases = append(phases, p)
	}
	return phases
}
