package gallery

import (
	"govrig/sim/machine"
)

// Wiring is what a governor is told of the machine, and what its lines are
// like. SI units.
type Wiring struct {
	// TickRate is the rate of the ticks that edges are stamped with, 1/s.
	TickRate float64
	// PulsesPerTurn is how many pickup pulses make a turn of the crankshaft.
	PulsesPerTurn int
	// PickupLow makes low the active level of the pickup line.
	PickupLow bool
	// Closed and Open are the servo pulse widths of closed and full throttle, s,
	// on the stick line and on the throttle line alike.
	Closed, Open float64
	// SelectLow and SelectHigh are the select widths of the slowest and the
	// fastest setting, s; SpeedLow and SpeedHigh are those, rad/s.
	SelectLow, SelectHigh, SpeedLow, SpeedHigh float64
	// Gain, share of throttle travel per rad/s, and IntegralTime, s, are those
	// of a calm PI governor of the machine; exhibits start from them.
	Gain, IntegralTime float64
	// SpoolRate is a usual one, rad/s².
	SpoolRate float64
}

// WiringOf is that of a machine, with edges stamped in ticks of a rate, 1/s. The
// gain is that of the file's stand-in.
func WiringOf(m *machine.Machine, tickRate float64) Wiring {
	return Wiring{
		TickRate: tickRate, PulsesPerTurn: m.Governor.PulsesPerTurn, PickupLow: m.Pickup.Active == machine.Low,
		Closed: float64(m.Servo.ClosedPulse), Open: float64(m.Servo.OpenPulse),
		SelectLow: float64(m.Governor.SelectLow), SelectHigh: float64(m.Governor.SelectHigh),
		SpeedLow: float64(m.Governor.SpeedLow), SpeedHigh: float64(m.Governor.SpeedHigh),
		Gain: float64(m.StandIn.Gain), IntegralTime: float64(m.StandIn.IntegralTime), SpoolRate: float64(m.StandIn.SpoolRate),
	}
}

// share is a servo pulse width, s, as a share of the throttle travel, 0 to 1.
func (w *Wiring) share(width float64) float64 {
	return min(max((width-w.Closed)/(w.Open-w.Closed), 0), 1)
}
