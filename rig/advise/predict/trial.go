package predict

import (
	"math"

	"govrig/rig/measure"
	"govrig/sim/heli"
	"govrig/sim/machine"
	"govrig/sim/standin/governor"
)

const (
	// lead is how long the speed is held before the load comes on, s.
	lead = 1.0
	// leastWatch is how long it is watched after that, at the least, s; longer
	// if the machine file holds the load for longer.
	leastWatch = 9.0

	rpm     = 30 / math.Pi  // from rad/s
	degrees = 180 / math.Pi // from rad
	// perKrpm turns a gain, share of travel per rad/s, into % per 1000 rpm.
	perKrpm = 100 * 1000 / rpm
)

// trial is a machine at one speed setting, ready for load steps: what the cells
// of a case share.
type trial struct {
	plant  *heli.Plant // in the trim before the load
	pulse  float64     // throttle pulse of that trim, s
	gov    governor.Params
	sel    float64 // select pulse, s
	held   float64 // head speed that the governor is set to, rad/s
	limits machine.Limits

	declared  float64 // wanted engine speed, rpm
	low, high float64 // collective, rad
	ramp      int     // steps
	linear    [2]heli.Linear
}

// newTrial makes a machine ready. The error tells why there is no load step to
// be had, and wraps one of heli's.
func newTrial(m *machine.Machine, p heli.Params, s machine.SpeedSetting) (*trial, error) {
	t := &trial{
		gov: m.GovernorParams(tickRate), limits: s.Limits,
		declared: float64(s.HeadSpeed) * m.Ratio() * rpm,
		low:      float64(m.LoadStep.CollectiveLow), high: float64(m.LoadStep.CollectiveHigh),
		ramp: int(math.Round(float64(m.LoadStep.Ramp) / stepTime)),
	}
	t.held, t.sel = setting(t.gov, s, m.Ratio())
	t.plant = heli.New(p, stepTime)
	var err error
	for i, pitch := range []float64{t.low, t.high} {
		if t.linear[i], err = t.plant.Linearise(t.held, pitch); err != nil {
			return nil, err
		}
	}
	t.pulse = t.linear[0].ThrottlePulse
	return t, t.plant.Start(t.held, t.low)
}

// setting is the head speed, rad/s, that the governor can be set to nearest to
// a wanted one, and the width of the select pulse, s, that asks for it.
func setting(g governor.Params, s machine.SpeedSetting, ratio float64) (held, sel float64) {
	share := (float64(s.HeadSpeed)*ratio - g.SpeedLow) / (g.SpeedHigh - g.SpeedLow)
	share = max(0, min(1, share))
	engine := g.SpeedLow + share*(g.SpeedHigh-g.SpeedLow)
	if g.SpeedStep > 0 {
		engine = math.Round(engine/g.SpeedStep) * g.SpeedStep
	}
	return engine / ratio, g.SelectLow + share*(g.SelectHigh-g.SelectLow)
}

// watch is how long a load step of the machine is watched, s.
func watch(m *machine.Machine) float64 { return max(leastWatch, float64(m.LoadStep.Hold)) }

// samples gives the times of a cell's samples, s, with room for their values.
func samples(seconds float64) measure.Series {
	const sample = perSample * stepTime
	n := int(math.Round(seconds / sample))
	s := measure.Series{T: make([]float64, n), Y: make([]float64, n)}
	for i := range s.T {
		s.T[i] = float64(i) * sample
	}
	return s
}

// cell simulates the load step under one setting and measures it; s holds the
// times of the samples and has room for their values.
func (t *trial) cell(s measure.Series, gain, time float64) (Cell, error) {
	c := Cell{Gain: gain * perKrpm, Time: time}
	plant, err := t.simulate(s.Y, gain, time, t.afterLead)
	if err != nil {
		return c, err
	}
	t.read(&c, s, plant.Running())
	err = t.addMargins(&c, gain, time)
	t.judge(&c)
	return c, err
}

// simulate fills in the speed of the engine at each sample, rpm, with the collective,
// rad, of each step.
func (t *trial) simulate(speeds []float64, gain, time float64, collective func(step int) float64) (*heli.Plant, error) {
	p := t.gov
	p.Gain, p.IntegralTime = gain, time
	plant := t.plant.Fork().(*heli.Plant)
	c, err := newCoupled(plant, t.pulse, p, t.sel)
	if err != nil {
		return nil, err
	}
	step := 0
	for i := range speeds {
		speeds[i] = c.state.EngineSpeed * rpm
		for range perSample {
			c.step(collective(step))
			step++
		}
	}
	return plant, nil
}

// afterLead is the pitch, rad, of a step when the load comes on after the lead.
func (t *trial) afterLead(step int) float64 { return t.collective(step - lead/stepTime) }

// collective is the pitch, rad, so many steps after the load change began.
func (t *trial) collective(since int) float64 {
	switch {
	case since < 0:
		return t.low
	case since >= t.ramp:
		return t.high
	}
	return t.low + (t.high-t.low)*float64(since)/float64(t.ramp)
}
