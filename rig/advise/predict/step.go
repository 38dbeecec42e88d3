package predict

import (
	"govrig/rig/measure"
	"govrig/sim/machine"
)

// Lead is how long before the load a Step begins, s.
const Lead = lead

// Step is one load step: the cell of the governor as it is, and the head's speed, rpm,
// over the time from Lead before the load on.
type Step struct {
	Cell
	Head measure.Series
}

// StepOf simulates the load step of a machine at a speed setting with the governor
// that its virtual runs have, and watches it for so many seconds or as long as
// predict does. The error is one of heli's, where there is no trim.
func StepOf(m *machine.Machine, s machine.SpeedSetting, watched float64) (*Step, error) {
	t, err := trialOf(m, s)
	if err != nil {
		return nil, err
	}
	speeds := samples(lead + max(watch(m), watched))
	cell, err := t.cell(speeds, t.gov.Gain, t.gov.IntegralTime)
	if err != nil {
		return nil, err
	}
	return &Step{cell, geared(speeds, m)}, nil
}

// Follow simulates the machine at a speed setting with the governor that its virtual
// runs have, while the collective, rad, goes as given, one value each Sample, and
// gives the head's speed, rpm. It starts in the trim of the load step's light end.
func Follow(m *machine.Machine, s machine.SpeedSetting, collective []float64) (measure.Series, error) {
	t, err := trialOf(m, s)
	if err != nil {
		return measure.Series{}, err
	}
	speeds := samples(float64(len(collective)) * Sample)
	_, err = t.simulate(speeds.Y, t.gov.Gain, t.gov.IntegralTime, func(step int) float64 { return collective[step/perSample] })
	return geared(speeds, m), err
}

// Sample is the time from one sample to the next, s.
const Sample = perSample * stepTime

// trialOf is the machine of the file at a speed setting.
func trialOf(m *machine.Machine, s machine.SpeedSetting) (*trial, error) {
	f, err := (&Options{}).forms(m)
	if err != nil {
		return nil, err
	}
	return newTrial(m, f[0].params, s)
}

// geared is the head's speed for that of the engine, with the clutch taken up.
func geared(engine measure.Series, m *machine.Machine) measure.Series {
	for i := range engine.Y {
		engine.Y[i] /= m.Ratio()
	}
	return engine
}
