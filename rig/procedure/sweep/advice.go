package sweep

import (
	"fmt"
	"math"
	"math/cmplx"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure"
	"govrig/rig/measure/loop"
	"govrig/rig/measure/response"
)

// AdviceTarget is what a loop should keep: text-book practice for a loop that
// is to be calm (phase margin 45°, gain margin 6 dB, sensitivity below 2; from
// memory).
var AdviceTarget = loop.Target{Phase: 45, Gain: 2, Sensitivity: 2}

// adviceHorizon is how far a predicted load step is followed, s.
const adviceHorizon = 8.0

var adviceMeasures = []measure.Declaration{
	{
		Name: "advised_gain_factor", Unit: "1", Optional: true,
		Meaning:    "What the governor's gain can be multiplied by and still keep 45° and 6 dB everywhere.",
		Convention: "from the margins of the measured governor with the simulated machine at every point; nothing is taken from beyond the swept range",
	},
	{
		Name: "expected_dip", Unit: "%", Optional: true,
		Meaning:    "The dip to expect on load on at that gain, at the point where it is worst.",
		Convention: "linear prediction, in % of the declared (wanted) speed; stops, play and steps only make it worse",
	},
	{
		Name: "expected_recovery", Unit: "s", Optional: true,
		Meaning:    "The time to expect from load on until the speed is back, where it is longest.",
		Convention: "linear prediction, from the load change to the lasting return into a band of 2 % of the declared speed (full width)",
	},
}

// advise works out what gain the measured points bear and says so.
func (s *Sweep) advise(t *execution.Test) (err error) {
	if len(s.Points) == 0 {
		return nil
	}
	if s.missed != "" {
		governed.NotRun(t, adviceMeasures, s.missed+": nothing was measured there, and a gain has to suit it too")
		return nil
	}
	for i := range s.Points {
		if p := &s.Points[i]; p.unadvised() != "" {
			governed.NotRun(t, adviceMeasures, p.words()+": "+p.unadvised())
			return nil
		}
	}
	s.Advice, err = loop.Advise(s.advicePoints(t), loop.Wish{Target: AdviceTarget, Band: governed.AdviceBand, Unit: "rpm of the engine"})
	if err != nil {
		return err
	}
	t.Sheet.Take("advised_gain_factor", s.Advice.Factor)
	s.expect(t)
	s.say(t)
	return nil
}

// unadvised is why a point can be no part of advice, if so: a gain for small sways
// that is another for large ones says nothing of the loop.
func (p *SweepPoint) unadvised() string {
	switch {
	case p.DeadBand > 0:
		return "the governor has a dead band"
	case p.Amplitudes.Kind == response.Dependent:
		return "the response is another one at another amplitude"
	case p.Amplitudes.Kind == response.Untold:
		return "whether the response is the same at another amplitude cannot be told"
	}
	return ""
}

// advicePoints are the measured governor times the plant at each point, with
// the whole load step to be predicted from the fitted one where that is good.
func (s *Sweep) advicePoints(t *execution.Test) (points []loop.Point) {
	for i := range s.Points {
		p := &s.Points[i]
		point := loop.Point{Name: p.words(), Loop: p.Loop.Loop, Band: p.Loop.Band, Spread: p.Loop.Spread, Slope: p.linear.ThrottleSlope}
		if size, ok := p.equivalentStep(t.Bench); ok && p.Unfit == "" {
			load := func(w float64) complex128 { return p.linear.LoadResponse(complex(0, w)) * complex(execution.RPM, 0) }
			point.Load = loop.Step{Plant: load, Size: size, Half: governed.Tolerance / 200 * p.declared(t.Bench), Horizon: adviceHorizon}
			point.Model = func(w float64) complex128 { return complex(p.sense, 0) * p.Fit.At(w) * p.Plant(w) }
		}
		points = append(points, point)
	}
	return points
}

// words names the point for a person.
func (p *SweepPoint) words() string {
	return p.Setting.Name + " with a " + string(p.Load) + " load"
}

// declared is the wanted engine speed, rpm.
func (p *SweepPoint) declared(b *execution.Bench) float64 {
	return float64(p.Setting.HeadSpeed) * b.Machine.Ratio() * execution.RPM
}

// expect takes the worst of the predicted answers to the load step at the
// advised gain, at the heavy points: that is where it ends.
func (s *Sweep) expect(t *execution.Test) {
	dip, recovery := 0.0, measure.Reading{}
	for i, a := range s.Advice.Points {
		p := &s.Points[i]
		if p.Collective != float64(t.Bench.Machine.LoadStep.CollectiveHigh) || a.After == nil {
			continue
		}
		dip = math.Min(dip, 100*a.After.Deviation/p.declared(t.Bench))
		if !a.After.Recovery.OK() || a.After.Recovery.Value > recovery.Value {
			recovery = a.After.Recovery
		}
	}
	if dip == 0 {
		governed.NotRun(t, adviceMeasures[1:], "no fit under the heavy load is good enough to follow a load step by")
		return
	}
	t.Sheet.Set("expected_dip", dip)
	t.Sheet.Take("expected_recovery", recovery)
}

// say says what follows for the gain. What is kept at another gain is worked out at
// that gain, and no target.
func (s *Sweep) say(t *execution.Test) {
	f := s.Advice.Factor
	if !f.OK() {
		t.Found("No gain can be advised: %s.", f.Why)
		t.Next("Look at the linkage, the servo's speed and its play first; then sweep again.")
		return
	}
	further := ""
	if s.Advice.AtLeast {
		further = "; further than that was not measured"
	}
	switch kept := s.kept(f.Value); {
	case f.Value < 0.9:
		t.Found("The gain is too high for a calm loop: at %.2g of it the measured loop keeps %s.", f.Value, kept)
		t.Next("Turn the governor's gain down to about %.2g of what it is, and sweep again.", f.Value)
	case f.Value < 1.5:
		t.Found("The gain is about right: at %.2g times as much the measured loop keeps %s%s.", f.Value, kept, further)
	default:
		t.Found("At up to %.2g times the gain the measured loop keeps %s%s.", f.Value, kept, further)
		t.Next("Turn it up only if the dip or the recovery of a load step is too large; then sweep again.")
	}
	if !s.Advice.OneGainFits {
		t.Found("One gain does not suit the whole range.")
	}
	for _, reason := range s.Advice.Reasons {
		t.Found("%s.", reason)
	}
}

// kept are the margins at the worst of the points with the gain times a factor.
func (s *Sweep) kept(factor float64) string {
	phase, gain := math.Inf(1), math.Inf(1)
	for i := range s.Points {
		p := &s.Points[i]
		m, err := loop.MarginsOf(p.Loop.Loop.Scaled(factor), p.Loop.Band)
		if err != nil || !m.Phase.OK() || !m.GainAtLeast.OK() {
			continue
		}
		phase, gain = math.Min(phase, m.Phase.Value), math.Min(gain, loop.Decibels(m.GainAtLeast.Value))
	}
	return fmt.Sprintf("%.0f° of phase margin and %.1f dB of gain margin at its worst point", phase, gain)
}

// tell says under which conditions a point holds.
func (s *Sweep) tell(t *execution.Test, p *SweepPoint) {
	a := p.Amplitudes
	sway := fmt.Sprintf("±%.2g %%", 100*math.Sqrt2*p.Sway/p.declared(t.Bench))
	switch {
	case p.DeadBand > 0:
		if p.Response != nil { // it was found here
			p.TellDeadBand(t)
		}
		return
	case a.Kind == response.Linear && p.share > s.Share:
		t.Found("%s: the governor is linear enough from an excitation of about %s on: one %.2g times as wide gives the same response, within %.1f dB on the mean. What a smaller one shows is too little to tell.", p.words(), sway, a.Ratio, math.Abs(a.Change))
	case a.Kind == response.Linear:
		t.Found("The governor is linear enough: an excitation %.2g times as wide gives the same response, within %.1f dB on the mean.", a.Ratio, math.Abs(a.Change))
	case a.Kind == response.Untold && a.Change > 0 && !p.coarse:
		t.Found("%s: too few sines stand out to tell whether the response is the same at another amplitude, so that no margin holds for sure. An excitation %.2g times as wide passes more; a dead band would do that, and so would chance.", p.words(), wider)
		return
	case a.Kind == response.Untold:
		t.Found("%s: too few sines stand out to tell whether the response is the same at another amplitude, so that no margin holds for sure.", p.words())
		return
	case a.Kind == response.Dependent:
		t.Found("%s: at an excitation %.2g times as wide the response is another (by %+.1f dB at most), so the margins hold for one of about %s only.", p.words(), a.Ratio, a.Worst, sway)
	}
	if !p.Margins.Crossover.OK() {
		p.tellBeyond(t)
	}
}

// TellDeadBand says once what a dead band does to the loop.
func (p *SweepPoint) TellDeadBand(t *execution.Test) {
	seen := ""
	if p.Amplitudes.Kind == response.DeadBand {
		seen = fmt.Sprintf(" A sway %.2g times as wide passes %.1f dB more, and a small one far less.", p.Amplitudes.Ratio, p.Amplitudes.Change)
	}
	t.Found("The governor has a dead band of about ±%.1f %% of the speed.%s Within it the speed wanders as it likes, and what margin there is depends on how far it swings.", 100*p.DeadBand, seen)
	t.Next("Look in the governor's manual for a sensitivity or a dead band that can be made smaller, and sweep again.")
}

// tellBeyond says what to do where the loop does not cross 1 within what was
// measured.
func (p *SweepPoint) tellBeyond(t *execution.Test) {
	low, high := p.Loop.Band.Min/(2*math.Pi), p.Loop.Band.Max/(2*math.Pi)
	if cmplx.Abs(p.Loop.Loop(p.Loop.Band.Min)) < 1 {
		t.Found("%s: the loop's gain is below 1 at all that was measured, from %.2g Hz: its phase margin cannot be told.", p.words(), low)
		t.Next("Turn the governor's gain up a little and sweep again; loadstep reports whether a loop so slow holds the load.")
		return
	}
	t.Found("%s: the loop's gain is above 1 at all that was measured, up to %.2g Hz: its phase margin cannot be told.", p.words(), high)
	t.Next("Turn the governor's gain down and sweep again.")
}
