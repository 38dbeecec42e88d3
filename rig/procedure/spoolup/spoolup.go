package spoolup

import (
	"math"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/finding"
	"govrig/rig/measure"
	"govrig/rig/measure/step"
	"govrig/rig/phase"
)

const (
	// accelerationTime is how long an acceleration has to last to count, s: ten
	// turns of a slow head would be too long, one pulse of the engine too short.
	accelerationTime = 0.1
	// locked is how near the head has to come to the engine, geared down, for
	// the clutch to count as taken up, as a share.
	locked = 0.02
)

// run runs up with the select pulse of the governor's paper, and once more with the
// one that gives the wanted speed where the paper's is clearly off. rest is the
// speed that it comes to rest at, rpm, with the pulse that gave spool.
func run(g *governed.Governor, t *execution.Test) (spool execution.Trace, rest measure.Reading, held bool, err error) {
	spool, held, err = g.TakeUp(t)
	if err != nil || !held || g.Engagement.Verdict != finding.Yes {
		return spool, measure.Missing("the governor was not seen to engage"), held, err
	}
	s, part, held, err := g.Seek(t)
	if err != nil || !held {
		return part, rest, held, err
	}
	best := s.Best()
	rest = measure.Read(best.Speed)
	if !s.Rested {
		rest = rest.Warn("the speed was still moving")
	}
	if g.TellUnreached(t, &s, 100*(best.Speed/g.Declared()-1)) || best == s.Tries[0] || governed.SpeedErrorLimit(&g.Machine.Governor, g.Setting, g.Engine()).Met(100*(s.Tries[0].Speed/g.Declared()-1)) {
		return spool, measure.Read(s.Tries[0].Speed), true, nil
	}
	t.Found("The select pulse of the governor's paper does not give the wanted speed; %.1f µs do, and are used here.", 1e6*best.Width)
	spool, held, err = g.TakeUp(t)
	return spool, rest, held, err
}

func readSpoolUp(g *governed.Governor, t *execution.Test, part *execution.Trace, rest measure.Reading) {
	from, to := part.Span(phase.Of(phase.SpoolUp))
	speed, head := part.EngineSpeed(from, to), part.HeadSpeed(from, to)
	end := speed.T[len(speed.T)-1]
	final := step.MeanSpeed(speed.Between(end-governed.SettleTime, math.Inf(1)))
	_, most := speed.Extent()
	time := spoolTime(g, speed, final.Value)
	overshoot := 100 * math.Max(0, most-final.Value) / g.Declared()
	acceleration := steepest(head, accelerationTime)
	grab := 100 * deepest(speed.Y[:takenUp(g, speed, head)]) / g.Declared()
	off := rest
	off.Value = 100 * (rest.Value/g.Declared() - 1)
	t.Sheet.Take("spool_up_speed_error", off)
	t.Sheet.Set("spool_up_time", time)
	t.Sheet.Set("spool_up_overshoot", overshoot)
	t.Sheet.Set("head_acceleration", acceleration)
	t.Sheet.Set("clutch_grab", grab)
	_, fastest := head.Extent()
	g.ReadBlades(t, fastest)
	t.Run.Views = append(t.Run.Views, viewOf(g, part))
	t.Found("%s: from idling to steady %.0f rpm of the engine in %.1f s, with %.1f %% overshoot.", g.Setting.Name, final.Value, time, overshoot)
	t.Found("The head gains at most %.0f rpm a second; while the clutch engages, the engine falls back by %.1f %%.", acceleration, grab)
	switch {
	case time < quickest:
		t.Found("That is quick: gears and blade bolts get the engine's whole torque.")
		t.Next("Look in the governor's manual for a slower start.")
	case time > slowest:
		t.Found("That is slow: the clutch slips for so long that it gets hot.")
		t.Next("Look in the governor's manual for a quicker start.")
	}
	if acceleration > hardest*float64(g.Setting.HeadSpeed)*execution.RPM {
		t.Found("That is hard on gears and blade bolts: %.1f times its wanted speed in a second.", acceleration/float64(g.Setting.HeadSpeed)/execution.RPM)
		t.Next("Look in the governor's manual for a softer start, and at the clutch.")
	}
	readFlapping(g, t, part, from, to, time)
}

// readFlapping reads how the throttle goes to and fro while the engine comes up,
// which takes it so many seconds of samples from..to.
func readFlapping(g *governed.Governor, t *execution.Test, part *execution.Trace, from, to int, time float64) {
	throttle := measure.Series{T: part.Time[from:to], Y: g.Shares(part.Throttle[from:to])}
	flapping, flaps, ok := finding.Flaps(throttle.Between(throttle.T[0], throttle.T[0]+time))
	if !ok {
		t.Sheet.NotRun("throttle_travel", "the spool-up is too short to tell")
		return
	}
	t.Sheet.Set("throttle_travel", flapping.Travel)
	if flaps {
		t.Found("%s: the throttle flaps on the way up: it turns back %.1f times a second and goes %.1f times its whole travel in one.",
			g.Setting.Name, flapping.Reversals, flapping.Travel)
		t.Next("Turn the governor's gain down, or look in its manual for a softer start: a throttle that flaps shakes the clutch and wears its servo (common practice, no source).")
	}
}

// spoolTime is from the stick going up to the lasting return into the tolerance
// band about the final speed.
func spoolTime(g *governed.Governor, speed measure.Series, final float64) float64 {
	half := governed.Tolerance / 200 * g.Declared()
	last := 0
	for i, y := range speed.Y {
		if math.Abs(y-final) > half {
			last = i
		}
	}
	return speed.T[last] - speed.T[0]
}

// takenUp is the first sample at which the head turns with the engine.
func takenUp(g *governed.Governor, speed, head measure.Series) int {
	for i := range speed.Y {
		if head.Y[i] > 0 && head.Y[i]*g.Machine.Ratio() > (1-locked)*speed.Y[i] {
			return i + 1
		}
	}
	return speed.Len()
}

// steepest is the greatest rise over the given time, per s.
func steepest(s measure.Series, time float64) float64 {
	most, from := 0.0, 0
	for i := range s.T {
		for s.T[i]-s.T[from] > time {
			from++
		}
		if from > 0 {
			most = math.Max(most, (s.Y[i]-s.Y[from])/(s.T[i]-s.T[from]))
		}
	}
	return most
}

// deepest is the greatest fall below what had been reached before.
func deepest(y []float64) float64 {
	most, reached := 0.0, 0.0
	for _, v := range y {
		reached = math.Max(reached, v)
		most = math.Max(most, reached-v)
	}
	return most
}

// Our own limits of the time that a spool-up takes, s.
const (
	quickest = 3.0
	slowest  = 30.0
)

// hardest is the most that the head may gain in a second, over its wanted speed (our
// own): the head takes up within a second or so, and not evenly.
const hardest = 1.5

func spoolMeasures(g *governed.Governor) []measure.Declaration {
	_, rise := governed.Deviations(g.Setting.Limits)
	wanted := float64(g.Setting.HeadSpeed) * execution.RPM
	back := 100 * float64(g.Machine.Clutch.Engagement-g.Machine.Engine.IdleSpeed) / g.Engine()
	return append([]measure.Declaration{
		governed.EngagedMeasure(),
		{
			Name: "spool_up_speed_error", Unit: "%", Limit: governed.SpeedErrorLimit(&g.Machine.Governor, g.Setting, g.Engine()),
			Meaning:    "How far off the wanted speed the engine is once it is steady.",
			Convention: governed.SpeedErrorConvention,
		},
		{
			Name: "spool_up_time", Unit: "s", Limit: measure.Between(quickest, slowest),
			Meaning: "How long it takes from the stick going up until the engine holds its speed.",
			Convention: "to the lasting return into a band of 2 % of the declared speed (full width) about the final one; limits, our own: " +
				"quicker, and gears and blade bolts get the engine's whole torque; slower, and the clutch slips until it is hot",
		},
		{
			Name: "spool_up_overshoot", Unit: "%", Limit: rise,
			Meaning:    "How far the engine goes beyond its final speed on the way.",
			Convention: "in % of the declared speed; limit: the machine file's max_overshoot",
		},
		{
			Name: "head_acceleration", Unit: "rpm/s", Limit: measure.AtMost(hardest * wanted),
			Meaning:    "How fast the head gains speed at worst.",
			Convention: "over 0.1 s; limit, our own: one and a half times the wanted head speed in a second",
		},
		{
			Name: "throttle_travel", Unit: "1/s", Optional: true,
			Meaning:    "How much the throttle goes to and fro while the engine comes up.",
			Convention: "times its whole travel that it goes in a second, in the worst two seconds",
		},
		{
			Name: "clutch_grab", Unit: "%", Limit: measure.AtMost(back),
			Meaning: "How far the engine falls back while the clutch engages.",
			Convention: "greatest fall below what had been reached before, in % of the declared speed, until the head turns with the engine; " +
				"limit, our own: from the clutch's engagement back to idling, where the engine may stall",
		},
	}, append(rearmMeasures(g), g.BladesMeasures()...)...)
}
