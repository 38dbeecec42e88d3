package procedure

import (
	"math"
	"strings"

	"govrig/rig/measure"
	"govrig/rig/measure/loop"
	"govrig/sim/heli"
)

// adviceTarget is what a loop should keep: text-book practice for a loop that
// is to be calm (phase margin 45°, gain margin 6 dB, sensitivity below 2; from
// memory).
var adviceTarget = loop.Target{Phase: 45, Gain: 2, Sensitivity: 2}

// adviceBand is where the loop is looked at, rad/s; adviceHorizon is how far a
// predicted load step is followed, s.
var adviceBand = loop.Band{Min: 0.02, Max: 300}

const adviceHorizon = 8.0

var adviceMeasures = []measure.Declaration{
	{
		Name: "advised_gain_factor", Unit: "1", Optional: true,
		Meaning:    "What the governor's gain can be multiplied by and still keep 45° and 6 dB everywhere.",
		Convention: "from the fitted governor and the simulated machine at every point measured",
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
func (s *Sweep) advise(t *test) error {
	points, err := s.advicePoints(t)
	if err != nil || len(points) == 0 {
		return err
	}
	s.Advice, err = loop.Advise(points, loop.Wish{Target: adviceTarget, Band: adviceBand, Unit: "rpm of the engine"})
	if err != nil {
		return err
	}
	t.sheet.Take("advised_gain_factor", s.Advice.Factor)
	s.expect(t)
	s.say(t)
	return nil
}

// advicePoints are the fitted governor times the plant at each point, with the
// whole load step to be predicted.
func (s *Sweep) advicePoints(t *test) (points []loop.Point, err error) {
	for i := range s.Points {
		p := &s.Points[i]
		size, err := p.equivalentStep(t.bench)
		if err != nil {
			return nil, err
		}
		load := func(w float64) complex128 { return p.linear.LoadResponse(complex(0, w)) * complex(rpm, 0) }
		points = append(points, loop.Point{
			Name:  p.words(),
			Loop:  func(w float64) complex128 { return p.Fit.At(w) * p.Plant(w) },
			Slope: p.linear.ThrottleSlope,
			Load:  loop.Step{Plant: load, Size: size, Half: tolerance / 200 * p.declared(t.bench), Horizon: adviceHorizon},
			Spread: loop.Spread{
				Gain: p.Fit.Residual, Phase: p.Fit.Residual * degrees,
			},
		})
	}
	return points, nil
}

// words names the point for a person.
func (p *SweepPoint) words() string {
	setting, load, several := strings.Cut(p.Name, p.Setting.Name+"_")
	if !several {
		load = setting
	}
	return p.Setting.Name + " with a " + load + " load"
}

// declared is the wanted engine speed, rpm.
func (p *SweepPoint) declared(b *Bench) float64 {
	return float64(p.Setting.HeadSpeed) * b.Machine.Ratio() * rpm
}

// equivalentStep is the change of collective, rad, that in the linear plant of
// this point makes the same change of load torque as the whole load step does
// in the real one, whose torque grows faster than its pitch.
func (p *SweepPoint) equivalentStep(b *Bench) (float64, error) {
	const d = 0.1 / degrees
	low, high := float64(b.Machine.LoadStep.CollectiveLow), float64(b.Machine.LoadStep.CollectiveHigh)
	head := p.linear.HeadSpeed
	torque := func(collective float64) (float64, error) {
		plant := heli.New(b.Machine.HeliParams(), stepTicks/16e6)
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
func (s *Sweep) expect(t *test) {
	dip, recovery := 0.0, measure.Reading{}
	for i, a := range s.Advice.Points {
		p := &s.Points[i]
		if p.Collective != float64(t.bench.Machine.LoadStep.CollectiveHigh) || a.After == nil {
			continue
		}
		dip = math.Min(dip, 100*a.After.Deviation/p.declared(t.bench))
		if !a.After.Recovery.OK() || a.After.Recovery.Value > recovery.Value {
			recovery = a.After.Recovery
		}
	}
	if dip == 0 {
		return
	}
	t.sheet.Set("expected_dip", dip)
	t.sheet.Take("expected_recovery", recovery)
}

func (s *Sweep) say(t *test) {
	f := s.Advice.Factor
	switch {
	case !f.OK():
		t.found("No gain keeps 45° of phase margin and 6 dB of gain margin everywhere: %s.", f.Why)
		t.next("Look at the linkage, the servo's speed and its play first; then sweep again.")
	case f.Value < 0.9:
		t.found("The gain is too high for a calm loop: %.2g of it would keep 45° and 6 dB everywhere.", f.Value)
		t.next("Turn the governor's gain down to about %.2g of what it is, and sweep again.", f.Value)
	case f.Value < 1.5:
		t.found("The gain is about right: it could be at most %.2g times as high.", f.Value)
	default:
		t.found("The gain could be up to %.2g times as high and still keep 45° and 6 dB everywhere.", f.Value)
		t.next("Turn it up only if the dip or the recovery of a load step is too large; then sweep again.")
	}
	if !s.Advice.OneGainFits && f.OK() {
		t.found("One gain does not suit the whole range.")
	}
	for _, reason := range s.Advice.Reasons {
		t.found("%s.", reason)
	}
}
