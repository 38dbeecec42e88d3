package predict

import (
	"govrig/rig/measure"
	"govrig/sim/heli"
	"govrig/sim/machine"
)

// LoadOn is when the load of a played step comes on, s from its beginning.
const LoadOn = lead

// Play simulates the load step of a machine with the given physics at a setting,
// under the stand-in governor of its file: the head speed, rpm. The error tells why
// there is no such step.
func Play(m *machine.Machine, p heli.Params, s machine.SpeedSetting) (measure.Series, error) {
	t, err := newTrial(m, p, s)
	if err != nil {
		return measure.Series{}, err
	}
	out := samples(lead + watch(m))
	if _, err := t.simulate(out.Y, t.gov.Gain, t.gov.IntegralTime, t.afterLead); err != nil {
		return measure.Series{}, err
	}
	for i := range out.Y {
		out.Y[i] /= m.Ratio()
	}
	return out, nil
}
