package spoolup

import (
	"math"
	"time"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/finding"
	"govrig/rig/measure"
	"govrig/rig/measure/step"
	"govrig/rig/phase"
	"govrig/rig/runlog"
)

// Arming in the air: the stick goes low while the rotor turns, as for an
// autorotation, and up again, as when that is broken off.
const (
	lowTime      = 2.0  // s, that the stick is low
	backWithin   = 30.0 // s, that the speed is waited for
	letGoBelow   = 0.95 // share of the speed before, when the governor has disengaged
	stickDown    = phase.Kind("stick low, rotor turning")
	stickUpAgain = phase.Kind("stick up again")
)

const (
	rearmTime      = "rearming_time"
	rearmOvershoot = "rearming_overshoot"
)

func rearmMeasures(g *governed.Governor) []measure.Declaration {
	_, rise := governed.Deviations(g.Setting.Limits)
	var limit *measure.Limit
	if most := g.Setting.Limits.RearmingTime; most != nil {
		limit = measure.AtMost(float64(*most))
	}
	return []measure.Declaration{
		{
			Name: rearmTime, Unit: "s", Limit: limit,
			Meaning:    "How long it takes until the governor holds its speed again after the stick has been low while the rotor turned.",
			Convention: "from the stick going up to the lasting return into a band of 2 % of the declared speed (full width) about the speed before, after 2 s of a low stick; limit: the machine file's max_rearming_time",
		},
		{
			Name: rearmOvershoot, Unit: "%", Limit: rise,
			Meaning:    "How far the engine goes beyond that speed then.",
			Convention: "in % of the declared speed; limit: the machine file's max_overshoot",
		},
	}
}

// rearm lets the stick go low and up again, and reads what comes of it.
func rearm(g *governed.Governor, t *execution.Test, before float64) error {
	if g.Engagement.Verdict != finding.Yes {
		noRearm(g, t, "the governor was not seen to engage")
		return nil
	}
	up := g.Orders.Stick
	g.Orders.Stick = hold(g)
	down := g.Phase(phase.Of(stickDown), lowTime)
	part, _, err := t.Play(down)
	if err != nil {
		return err
	}
	fallen := part.Speed[len(part.Speed)-1]
	g.Orders.Stick = up
	back, held, err := t.Play(g.Settled(phase.Of(stickUpAgain), backWithin, governed.SettleTime))
	if err != nil {
		return err
	}
	part.Calibrate(t.Session)
	back.Calibrate(t.Session)
	switch {
	case fallen > letGoBelow*before:
		noRearm(g, t, "the governor did not disengage with the stick low")
		t.Found("With the stick low (%.0f µs) the engine stays at speed: the governor does not disengage.", 1e6*hold(g).Seconds())
		t.Next("Lower throttle hold until the governor disengages, or look at the stick ends that it was taught: an autorotation needs an engine that idles.")
	case !held:
		noRearm(g, t, "the speed did not come back")
		t.Found("After the stick has been low while the rotor turned, the governor does not bring the speed back within %.0f s.", backWithin)
		t.Next("Break off no autorotation with this governor: look in its manual how it is armed again in the air.")
	default:
		readRearm(g, t, &back, before)
	}
	return nil
}

// hold is the stick of throttle hold, where the machine file has it, else its low end.
func hold(g *governed.Governor) time.Duration {
	if x := g.Machine.Transmitter; x != nil && x.Hold != nil {
		return execution.Seconds(x.Pulse(*x.Hold))
	}
	return g.Stick(0)
}

func noRearm(g *governed.Governor, t *execution.Test, why string) {
	for _, d := range rearmMeasures(g) {
		t.Sheet.NotRun(d.Name, why)
	}
}

// readRearm reads how the speed came back to what it was before, rpm.
func readRearm(g *governed.Governor, t *execution.Test, back *execution.Trace, before float64) {
	speed := back.EngineSpeed(0, len(back.Time))
	end := speed.T[speed.Len()-1]
	if mean := step.MeanSpeed(speed.Between(end-governed.SettleTime, math.Inf(1))); mean.OK() && math.Abs(mean.Value-before) > governed.Tolerance/200*g.Declared() {
		noRearm(g, t, "the governor came back to another speed")
		t.Found("After the stick has been low while the rotor turned, the governor holds %.0f rpm of the engine, and held %.0f before.", mean.Value, before)
		return
	}
	_, most := speed.Extent()
	took, overshoot := spoolTime(g, speed, before), 100*math.Max(0, most-before)/g.Declared()
	t.Sheet.Set(rearmTime, took)
	t.Sheet.Set(rearmOvershoot, overshoot)
	t.Found("%s: after %.0f s with the stick low while the rotor turns, the speed is back %.1f s after the stick goes up, with %.1f %% overshoot.",
		g.Setting.Name, lowTime, took, overshoot)
	if most := g.Setting.Limits.RearmingTime; most != nil && took > float64(*most) {
		t.Next("Break off no autorotation that has not height for %.0f s; look in the governor's manual for a quicker way back after hold.", math.Ceil(took))
	}
	t.Run.Views = append(t.Run.Views, rearmView(g, back))
}

// rearmView shows the way back.
func rearmView(g *governed.Governor, back *execution.Trace) runlog.View {
	wanted := g.Declared() / g.Machine.Ratio()
	v := runlog.View{
		Title: "stick up again, rotor turning", Setting: g.Setting.Name, Axis: "seconds from the stick going up", Wanted: wanted, Engine: true,
		Origin: back.Time[0], From: back.Time[0], To: back.Time[len(back.Time)-1],
	}
	if most := g.Setting.Limits.Overshoot; most != nil {
		v.Beyond = []runlog.Ground{{Low: runlog.Edge(wanted * (1 + float64(*most)))}}
	}
	for _, n := range [][2]string{{"time", rearmTime}, {"overshoot", rearmOvershoot}} {
		v.Notes = append(v.Notes, runlog.Note{Word: n[0], Key: measure.Key{What: n[1]}})
	}
	return v
}
