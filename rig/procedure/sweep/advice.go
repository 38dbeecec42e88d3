package sweep

import (
	"math"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure"
	"govrig/rig/measure/loop"
	"govrig/sim/heli"
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
func (s *Sweep) advise(t *execution.Test) error {
	points, err := s.advicePoints(t)
	if err != nil || len(points) == 0 {
		return err
	}
	s.Advice, err = loop.Advise(points, loop.Wish{Target: AdviceTarget, Band: governed.AdviceBand, Unit: "rpm of the engine"})
	if err != nil {
		return err
	}
	t.Sheet.Take("advised_gain_factor", s.Advice.Factor)
	s.expect(t)
	s.say(t)
	return nil
}

// advicePoints are the measured governor times the plant at each point, with
// the whole load step to be predicted from the fitted one where that is good.
func (s *Sweep) advicePoints(t *execution.Test) (points []loop.Point, err error) {
	for i := range s.Points {
		p := &s.Points[i]
		size, err := p.equivalentStep(t.Bench)
		if err != nil {
			return nil, err
		}
		load := func(w float64) complex128 { return p.linear.LoadResponse(complex(0, w)) * complex(execution.RPM, 0) }
		point := loop.Point{
			Name: p.words(),
			Loop: p.Loop.Loop, Band: p.Loop.Band, Spread: p.Loop.Spread,
			Slope: p.linear.ThrottleSlope,
			Load:  loop.Step{Plant: load, Size: size, Half: governed.Tolerance / 200 * p.declared(t.Bench), Horizon: adviceHorizon},
		}
		if p.Fit.Good() {
			point.Model = func(w float64) complex128 { return p.Fit.At(w) * p.Plant(w) }
		}
		points = append(points, point)
	}
	return points, nil
}

// words names the point for a person.
func (p *SweepPoint) words() string {
	return p.Setting.Name + " with a " + string(p.Load) + " load"
}

// declared is the wanted engine speed, rpm.
func (p *SweepPoint) declared(b *execution.Bench) float64 {
	return float64(p.Setting.HeadSpeed) * b.Machine.Ratio() * execution.RPM
}

// equivalentStep is the change of collective, rad, that in the linear plant of
// this point makes the same change of load torque as the whole load step does
// in the real one, whose torque grows faster than its pitch.
func (p *SweepPoint) equivalentStep(b *execution.Bench) (float64, error) {
	const d = 0.1 / execution.Degrees
	low, high := float64(b.Machine.LoadStep.CollectiveLow), float64(b.Machine.LoadStep.CollectiveHigh)
	head := p.linear.HeadSpeed
	torque := func(collective float64) (float64, error) {
		plant := heli.New(b.Machine.HeliParams(), execution.StepTicks/16e6)
		err := plant.Start(head, collective)
		return plant.State().LoadTorque, err
	}
	var at [4]float64
	for i, collective := range []float64{low, high, p.Collective - d, p.Collective + d} {
		var err error
		if at[i], err = torque(collective); err != nil {
			return 0, err
		}
	}
	return (at[1] - at[0]) / (at[3] - at[2]) * 2 * d, nil
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
		return
	}
	t.Sheet.Set("expected_dip", dip)
	t.Sheet.Take("expected_recovery", recovery)
}

func (s *Sweep) say(t *execution.Test) {
	f := s.Advice.Factor
	switch {
	case !f.OK():
		t.Found("No gain keeps 45° of phase margin and 6 dB of gain margin everywhere: %s.", f.Why)
		t.Next("Look at the linkage, the servo's speed and its play first; then sweep again.")
	case f.Value < 0.9:
		t.Found("The gain is too high for a calm loop: %.2g of it would keep 45° and 6 dB everywhere.", f.Value)
		t.Next("Turn the governor's gain down to about %.2g of what it is, and sweep again.", f.Value)
	case f.Value < 1.5:
		t.Found("The gain is about right: it could be at most %.2g times as high.", f.Value)
	default:
		t.Found("The gain could be up to %.2g times as high and still keep 45° and 6 dB everywhere.", f.Value)
		t.Next("Turn it up only if the dip or the recovery of a load step is too large; then sweep again.")
	}
	if !s.Advice.OneGainFits && f.OK() {
		t.Found("One gain does not suit the whole range.")
	}
	for _, reason := range s.Advice.Reasons {
		t.Found("%s.", reason)
	}
}
