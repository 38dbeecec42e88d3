package loop

import (
	"fmt"
	"math"

	"govrig/rig/measure"
)

// Point is one measured operating point: a head speed and a load.
type Point struct {
	Name string
	Loop Response // governor times plant, as measured, at the gain as it is
	// Band is what was measured; beyond it Loop is not known.
	Band Band
	// Model describes the loop over the band of the wish as well, for the
	// prediction alone. Nil when no description is to be believed: then
	// nothing is predicted.
	Model Response
	// Load is the step whose answer is to be predicted at this point.
	Load Step
	// Slope is the gain of the throttle linkage here, opening per servo
	// travel, in any unit. Zero when not known.
	Slope float64
	// Spread is the uncertainty of Loop at a frequency; nil is not known.
	Spread func(omega float64) Spread
}

// Wish is what the person asks for.
type Wish struct {
	Target Target
	Band   Band // of the models, rad/s
	// Unit is that of the predicted answers, for the reasons.
	Unit string
	// MostDip and MostRecovery are limits on the answer to the load step, in
	// the unit of the prediction and in s. Zero when there is none.
	MostDip, MostRecovery float64
}

// PointAdvice is the advice at one operating point.
type PointAdvice struct {
	Name string
	Now  Margins
	// Factor is the highest gain, relative to the gain now, that reaches the
	// target here; missing when none does.
	Factor measure.Reading
	// AtLeast tells that Factor is what the measured band lets one say; more
	// may do.
	AtLeast bool
	// Reach is the whole range of factors that reach it.
	Reach Interval
	// Before and After are the answer to the load step at the gain now and at
	// the factor advised for all points. Nil when the loop is not stable.
	Before, After *Prediction
}

// Advice is what to do with the one gain that a governor has.
type Advice struct {
	Points []PointAdvice
	// Factor is the highest gain, relative to the gain now, that reaches the
	// target at every point.
	Factor measure.Reading
	// AtLeast tells that Factor is what the measured band lets one say.
	AtLeast bool
	// Governing is the point that sets it: the one that bears least gain.
	Governing string
	// Ratio is the greatest over the least factor that the points bear.
	Ratio measure.Reading
	// StraightRatio is what that ratio would be with a linkage of the same
	// slope everywhere.
	StraightRatio measure.Reading
	// OneGainFits reports whether one gain does for the whole range.
	OneGainFits bool
	Reasons     []string
}

// worstRatio is how far the gain that points bear may differ, with no limit on
// the dip to judge by, until one gain is called unfit for the range: 6 dB, the
// usual least gain margin (common practice, no source).
const worstRatio = 2.0

// Advise works out what factor of gain reaches the target at every point, what
// to expect after it, and whether one gain does for all of them.
func Advise(points []Point, w Wish) (Advice, error) {
	if len(points) == 0 {
		return Advice{}, fmt.Errorf("no operating point was measured")
	}
	a := Advice{OneGainFits: true}
	for _, p := range points {
		c, err := sample(p.Loop, p.Band)
		if err != nil {
			return Advice{}, fmt.Errorf("%s: %w", p.Name, err)
		}
		pa := PointAdvice{Name: p.Name, Now: c.margins()}
		pa.Factor, pa.Reach, pa.AtLeast = c.factorReading(w.Target, p.Spread)
		a.Points = append(a.Points, pa)
	}
	a.common()
	a.ratios(points)
	a.predict(points, w)
	a.judge(w)
	return a, nil
}

// common finds the factor for all points: the least of the highest.
func (a *Advice) common() {
	low := 0.0
	for _, p := range a.Points {
		if !p.Factor.OK() {
			a.Factor = measure.Missing("%s: %s", p.Name, p.Factor.Why)
			a.unfit(a.Factor.Why)
			return
		}
		if a.Governing == "" || p.Factor.Value < a.Factor.Value {
			a.Governing, a.Factor, a.AtLeast = p.Name, p.Factor, p.AtLeast
		}
		low = math.Max(low, p.Reach.Low)
	}
	if low > a.Factor.Value {
		a.unfit(fmt.Sprintf("the gain that %s bears is too little for another point", a.Governing))
	}
}

// ratios compares the points, as they are and with a straight linkage. A point
// bears a factor in inverse proportion to the slope there.
func (a *Advice) ratios(points []Point) {
	a.Ratio = measure.Missing("not every point reaches the target")
	a.StraightRatio = measure.Missing("the slope of the linkage is not known at every point")
	least, most := math.Inf(1), 0.0
	sLeast, sMost := math.Inf(1), 0.0
	for i, p := range a.Points {
		if !p.Factor.OK() {
			return
		}
		least, most = math.Min(least, p.Factor.Value), math.Max(most, p.Factor.Value)
		x := p.Factor.Value * points[i].Slope
		sLeast, sMost = math.Min(sLeast, x), math.Max(sMost, x)
	}
	a.Ratio = measure.Read(most / least)
	if sLeast > 0 {
		a.StraightRatio = measure.Read(sMost / sLeast)
	}
}

func (a *Advice) predict(points []Point, w Wish) {
	for i := range a.Points {
		a.Points[i].Before = predicted(points[i], 1, w.Band)
		if a.Factor.OK() {
			a.Points[i].After = predicted(points[i], a.Factor.Value, w.Band)
		}
	}
}

func predicted(p Point, k float64, b Band) *Prediction {
	if p.Load.Plant == nil || p.Model == nil {
		return nil
	}
	out, err := Predict(p.Model.Scaled(k), p.Load, b)
	if err != nil {
		return nil
	}
	return &out
}

// judge says in words what was found, and whether one gain does.
func (a *Advice) judge(w Wish) {
	if !a.Factor.OK() {
		return
	}
	reason := fmt.Sprintf("%s bears the least gain: a factor of %.3g keeps %s there", a.Governing, a.Factor.Value, w.Target)
	if a.AtLeast {
		reason = fmt.Sprintf("%s sets the least: what was measured there shows %s kept up to a factor of %.3g, and no further",
			a.Governing, w.Target, a.Factor.Value)
	}
	a.Reasons = append(a.Reasons, reason)
	for _, p := range a.Points {
		a.judgePoint(p, w)
	}
	limits := w.MostDip > 0 || w.MostRecovery > 0
	if a.Ratio.OK() && a.Ratio.Value > worstRatio && !limits {
		a.unfit(fmt.Sprintf("the points bear gains that differ by a factor of %.2g", a.Ratio.Value))
	}
	if a.Ratio.OK() && a.StraightRatio.OK() && a.StraightRatio.Value < 0.75*a.Ratio.Value {
		a.Reasons = append(a.Reasons, fmt.Sprintf(
			"the slope of the linkage makes most of the difference: with an even slope the factor of %.2g would be %.2g",
			a.Ratio.Value, a.StraightRatio.Value))
	}
}

func (a *Advice) judgePoint(p PointAdvice, w Wish) {
	if p.After == nil {
		return
	}
	dip := math.Abs(p.After.Deviation)
	if p.Before != nil {
		a.Reasons = append(a.Reasons, fmt.Sprintf("%s: a load step would then take the speed off by %.3g %s instead of %.3g",
			p.Name, p.After.Deviation, w.Unit, p.Before.Deviation))
	}
	if w.MostDip > 0 && dip > w.MostDip {
		a.unfit(fmt.Sprintf("%s: a dip of %.3g %s is more than %.3g", p.Name, dip, w.Unit, w.MostDip))
	}
	if w.MostRecovery > 0 && !(p.After.Recovery.OK() && p.After.Recovery.Value <= w.MostRecovery) {
		a.unfit(fmt.Sprintf("%s: recovery takes longer than %.3g s", p.Name, w.MostRecovery))
	}
}

func (a *Advice) unfit(why string) {
	a.OneGainFits = false
	a.Reasons = append(a.Reasons, why)
}
