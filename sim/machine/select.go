package machine

import "math"

// SelectPulse is the pulse width on the select line, s, that asks for a
// crankshaft speed, rad/s: on the straight line between the two ends of the
// governor's range. Speeds beyond an end get that end. It is 0, no pulse, for a
// governor without a select line.
func (g Governor) SelectPulse(engine float64) float64 {
	if g.Select == SelectNone {
		return 0
	}
	share := (engine - float64(g.SpeedLow)) / float64(g.SpeedHigh-g.SpeedLow)
	return float64(g.SelectLow) + max(0, min(1, share))*float64(g.SelectHigh-g.SelectLow)
}

// SelectSpeed is the crankshaft speed, rad/s, that a pulse width on the select
// line, s, asks for, on the same line.
func (g Governor) SelectSpeed(pulse float64) float64 {
	share := (pulse - float64(g.SelectLow)) / float64(g.SelectHigh-g.SelectLow)
	return float64(g.SpeedLow) + share*float64(g.SpeedHigh-g.SpeedLow)
}

// SettingPulse is the pulse width on the select line, s, that asks for a speed
// setting. With stored steps it is the one that the file gives, or else the
// slowest setting has select_at_lowest, the fastest select_at_highest, and the
// others lie evenly between. ok is false when the governor has no select line.
func (m *Machine) SettingPulse(s SpeedSetting) (width float64, ok bool) {
	g := m.Governor
	switch {
	case g.Select == SelectNone:
		return 0, false
	case g.Select == SelectContinuous:
		return g.SelectPulse(float64(s.HeadSpeed) * m.Ratio()), true
	case s.Select != nil:
		return float64(*s.Select), true
	}
	slower := 0
	for _, other := range m.Speeds {
		if other.HeadSpeed < s.HeadSpeed {
			slower++
		}
	}
	share := float64(slower) / float64(max(1, len(m.Speeds)-1))
	return float64(g.SelectLow) + share*float64(g.SelectHigh-g.SelectLow), true
}

// PulseSpacing is the time from one pickup pulse to the next, s, at a
// crankshaft speed, rad/s, above 0.
func (g Governor) PulseSpacing(engine float64) float64 {
	return 2 * math.Pi / (engine * float64(g.PulsesPerTurn))
}
