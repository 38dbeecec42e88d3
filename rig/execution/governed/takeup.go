package governed

import (
	"math"

	"govrig/rig"
	"govrig/rig/execution"
	"govrig/rig/finding"
	"govrig/rig/measure"
	"govrig/rig/phase"
)

// ways are how the stick is brought up, the plainest first: some governors arm
// only near the stick's end, some only once the engine turns fast, which a stick
// just below the arming threshold brings about.
var ways = [][]float64{
	{GovernedStick},
	{1},
	{0.12, 0.2, 0.3, GovernedStick, 1},
}

const (
	// stepTime is how long the stick stays at a step on the way, s.
	stepTime = 4.0
	// awayLimit is how long a way after the first may take, s.
	awayLimit = 30.0
)

// TakeUp begins a loop around the machine: idle, then the stick up until the
// engine is steady, then a small change of speed that shows whether the governor
// does that. Where it does not, other ways of the stick are tried. held is false
// when the engine does not become steady, or is shown not to be governed; part is
// the last way. Engagement tells what was seen.
func (g *Governor) TakeUp(t *execution.Test) (part execution.Trace, held bool, err error) {
	var first execution.Trace
	seen := finding.Engagement{}
	for i := g.firstWay; i < len(ways); i++ {
		way := ways[i]
		limit := SpoolLimit
		if i > g.firstWay {
			limit = awayLimit
		}
		mark := t.Run.Trace.Mark()
		held, err = g.way(t, way, limit)
		part = t.Run.Trace.Since(mark)
		if err != nil || g.Engagement.Verdict == finding.Yes {
			g.tellWay(t, i)
			return part, held, err
		}
		if i == g.firstWay {
			first, seen = part, g.Engagement
		}
		if u := g.Unheld(&part); !u.mayEngage() {
			return part, held && governs(g.Engagement), nil
		}
	}
	plain := ways[g.firstWay]
	g.Up, g.Engagement = plain[len(plain)-1], seen // the plainest way tells most
	return first, held && governs(seen), nil
}

// Armed tells that the governor was seen to arm at a stick, a share of its travel: ways
// that end below are not tried.
func (g *Governor) Armed(stick float64) {
	for g.firstWay < len(ways)-1 && ways[g.firstWay][len(ways[g.firstWay])-1] < stick {
		g.firstWay++
	}
}

// governs reports whether a governor may be taken to govern: it is not shown not to,
// and its throttle is off its ends.
func governs(e finding.Engagement) bool { return e.Verdict != finding.No && !e.Ends.Saturated() }

// tellWay says what was seen on the way to an engaged governor: that a usual stick
// was not enough, that it does not mind small changes.
func (g *Governor) tellWay(t *execution.Test, way int) {
	if g.Engagement.Verdict != finding.Yes {
		return
	}
	switch way {
	case 0:
	case 1:
		t.FoundOnce("The governor engages only at the stick's end: with the stick at %.0f %% of its way it did not.", 100*GovernedStick)
		t.Next("Keep the stick's end in every flight mode that is to be governed, or look in the governor's manual for its arming threshold; throttle finds it.")
	default:
		t.FoundOnce("The governor engages only once the engine turns faster than at idle: with the stick straight up it did not.")
		t.Next("Bring the engine up with the stick below the arming threshold before it is to govern, or look in the governor's manual for the speed that it asks for.")
	}
	if g.DeadBand > 0 {
		g.tellDeadBand(t)
	}
}

// way brings the stick up one way, from idling.
func (g *Governor) way(t *execution.Test, sticks []float64, limit float64) (bool, error) {
	g.Engagement = finding.Engagement{Why: "the engine did not become steady"}
	t.Helicopter()
	g.Orders.Stick = g.Stick(0)
	phases := []rig.Phase{g.Phase(phase.Of(phase.Idle), IdleTime)}
	last := len(sticks) - 1
	for _, share := range sticks[:last] {
		g.Orders.Stick = g.Stick(share)
		phases = append(phases, g.Phase(phase.Of(phase.StickUp), stepTime))
	}
	g.Up = sticks[last]
	g.Orders.Stick = g.Stick(g.Up)
	part, held, err := t.Play(append(phases, g.Settled(phase.Of(phase.SpoolUp), limit, SettleTime))...)
	if err != nil || !held && !g.awake(&part) {
		return false, err
	}
	_, err = g.Engaged(t)
	return held, err
}

// awake reports whether the engine ended up at some steady speed above idling,
// though that is not the wanted one.
func (g *Governor) awake(part *execution.Trace) bool {
	from, to := g.lastSeconds(part)
	low, top := part.EngineSpeed(from, to).Extent()
	return low > 1.3*float64(g.Machine.Engine.IdleSpeed)*execution.RPM && top-low < 0.03*top
}

// unheldTime is how much of the end of a trace is looked at, s.
const unheldTime = 8.0

// Unheld is why the wanted speed is not held, with what it was concluded from.
type Unheld struct {
	finding.Unheld
	Swing
}

// mayEngage reports whether another way of the stick may bring it about.
func (u *Unheld) mayEngage() bool {
	switch u.Unheld.Kind {
	case finding.Asleep, finding.FollowsStick, finding.Ungoverned, finding.Unproven, finding.WideOpen:
		return true
	}
	return false
}

// Unheld finds out, from the end of a trace, why the wanted speed is not held.
func (g *Governor) Unheld(part *execution.Trace) Unheld {
	from, to := g.lastSeconds(part)
	swing := g.lately(part, to)
	if swing.Hunting() {
		from = swing.From
	}
	return Unheld{finding.WhyUnheld(finding.Seen{
		Speed: part.EngineSpeed(from, to), Throttle: g.Shares(part.Throttle[from:to]), Stick: g.Up,
		Wanted: g.Declared(), Idle: float64(g.Machine.Engine.IdleSpeed) * execution.RPM,
		Given: g.Machine.Governor.PulsesPerTurn, Hunting: swing.Finding, Engagement: g.Engagement, CanHold: g.CanHold(g.Orders.Collective),
	}), swing}
}

// lastSeconds are the samples at the end of a trace, leaving out changes of the
// played speed: more of them where the speed was not steady.
func (g *Governor) lastSeconds(part *execution.Trace) (from, to int) {
	to = len(part.Time)
	for to > 0 && (part.Phases[part.Phase[to-1]].Kind == phase.Change || part.Phases[part.Phase[to-1]].Kind == phase.After) {
		to--
	}
	if to == 0 {
		to = len(part.Time)
	}
	all := measure.Series{T: part.Time[:to], Y: part.Speed[:to]}
	window := all.Between(part.Time[to-1]-SettleTime, math.Inf(1))
	if low, top := window.Extent(); top-low > 0.03*top { // not steady: more of it
		window = all.Between(part.Time[to-1]-unheldTime, math.Inf(1))
	}
	return to - window.Len(), to
}

// Explain says in plain words why the governor does not hold the wanted speed,
// as far as the end of the trace tells.
func (g *Governor) Explain(t *execution.Test, u Unheld) {
	if u.Hunts() {
		g.TellHunting(t, u.Swing)
		t.Next("Run hold: it finds out what makes the governor hunt.")
		return
	}
	t.Found("%s", u.Found())
	if u.Unheld.Kind == finding.Unsteady && g.TellRoughness(t, u.Swing) {
		return
	}
	t.Next("%s", u.Next())
}

// ExplainWhole is Explain, and where the governor hunts finds out what makes it do
// so. That takes the loop around the machine away.
func (g *Governor) ExplainWhole(t *execution.Test, u Unheld) error {
	if !u.Hunts() {
		g.Explain(t, u)
		return nil
	}
	g.TellHunting(t, u.Swing)
	return g.TellCauses(t, u.Swing)
}

// Hunts reports whether that is why.
func (u *Unheld) Hunts() bool { return u.Unheld.Kind == finding.Hunts }

// tellBandOf says that the governor has a dead band, where its own response shows
// that; said reports whether it did.
func (g *Governor) tellBandOf(t *execution.Test, c *Calm) (said bool) {
	found, next, said := finding.DeadBand(c.Amplitudes, c.Deaf)
	if said {
		t.FoundOnce("%s", found)
		t.Next("%s", next)
	}
	return said
}

// tellDeadBand says that the governor does not mind small changes.
func (g *Governor) tellDeadBand(t *execution.Test) {
	t.FoundOnce("The governor has a dead band: changes of speed of about ±%.1f %% leave it unmoved, larger ones do not.", 100*g.DeadBand)
	t.Next("%s", finding.SmallerBand)
}
