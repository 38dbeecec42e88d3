package procedure

import (
	"context"
	"math"

	"govrig/rig/measure"
	"govrig/rig/measure/step"
)

// SpoolUpBriefing is what the person is told before SpoolUp.
var SpoolUpBriefing = governedBriefing("Finds out how the governor brings engine and rotor up from idling to its speed.")

// SpoolUpOptions are those of SpoolUp.
type SpoolUpOptions struct {
	Speed string // name of the speed setting; empty is the first
}

// SpoolUp runs the engine from idling up to a speed setting, through arming and
// the take-up of the clutch, until the governor holds.
func SpoolUp(ctx context.Context, b *Bench, o SpoolUpOptions) (*Run, error) {
	setting, err := choose(b.Machine, o.Speed)
	if err != nil {
		return nil, err
	}
	declared := newGoverned(b.Machine, setting).spoolMeasures()
	return b.run(ctx, plan{name: "spoolup", options: o, setting: setting, declared: declared, body: func(t *test) error {
		g := newGoverned(b.Machine, setting)
		spool, held, err := g.takeUp(t)
		if err != nil {
			return err
		}
		if !held {
			notRun(t, declared, whyUnsteady)
			g.explain(t, g.unheld(&spool))
			return nil
		}
		spool.calibrate(t.session)
		g.readSpoolUp(t, &spool)
		return nil
	}})
}

const (
	// accelerationTime is how long an acceleration has to last to count, s: ten
	// turns of a slow head would be too long, one pulse of the engine too short.
	accelerationTime = 0.1
	// locked is how near the head has to come to the engine, geared down, for
	// the clutch to count as taken up, as a share.
	locked = 0.02
)

func (g *governed) readSpoolUp(t *test, part *Trace) {
	from, to := part.phase(phaseSpool)
	speed, head := part.speed(from, to), part.head(from, to)
	end := speed.T[len(speed.T)-1]
	final := step.MeanSpeed(speed.Between(end-settleTime, math.Inf(1)))
	_, most := speed.Extent()
	time := g.spoolTime(speed, final.Value)
	overshoot := 100 * math.Max(0, most-final.Value) / g.declared()
	acceleration := steepest(head, accelerationTime)
	grab := 100 * deepest(speed.Y[:g.takenUp(speed, head)]) / g.declared()
	t.sheet.Set("spool_up_time", time)
	t.sheet.Set("spool_up_overshoot", overshoot)
	t.sheet.Set("head_acceleration", acceleration)
	t.sheet.Set("clutch_grab", grab)
	t.found("%s: from idling to steady %.0f rpm of the engine in %.1f s, with %.1f %% overshoot.", g.setting.Name, final.Value, time, overshoot)
	t.found("The head gains at most %.0f rpm a second; while the clutch takes up, the engine falls back by %.1f %%.", acceleration, grab)
	if time < quickest {
		t.next("Look in the governor's manual for a slower start.")
	}
}

// spoolTime is from the stick going up to the lasting return into the tolerance
// band about the final speed.
func (g *governed) spoolTime(speed measure.Series, final float64) float64 {
	half := tolerance / 200 * g.declared()
	last := 0
	for i, y := range speed.Y {
		if math.Abs(y-final) > half {
			last = i
		}
	}
	return speed.T[last] - speed.T[0]
}

// takenUp is the first sample at which the head turns with the engine.
func (g *governed) takenUp(speed, head measure.Series) int {
	for i := range speed.Y {
		if head.Y[i] > 0 && head.Y[i]*g.m.Ratio() > (1-locked)*speed.Y[i] {
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

func (g *governed) spoolMeasures() []measure.Declaration {
	_, rise := deviations(g.setting.Limits)
	wanted := float64(g.setting.HeadSpeed) * rpm
	back := 100 * float64(g.m.Clutch.Engagement-g.m.Engine.IdleSpeed) / g.engine()
	return []measure.Declaration{
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
			Name: "head_acceleration", Unit: "rpm/s", Limit: measure.AtMost(wanted),
			Meaning:    "How fast the head gains speed at worst.",
			Convention: "over 0.1 s; limit, our own: the whole wanted head speed within a second",
		},
		{
			Name: "clutch_grab", Unit: "%", Limit: measure.AtMost(back),
			Meaning: "How far the engine falls back while the clutch takes up the rotor.",
			Convention: "greatest fall below what had been reached before, in % of the declared speed, until the head turns with the engine; " +
				"limit, our own: from the clutch's engagement back to idling, where the engine may stall",
		},
	}
}
