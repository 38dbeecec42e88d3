package engine

import (
	"math"

	"govrig/sim/air"
)

// curve holds the steady relations between opening, charge, speed and torque.
type curve struct {
	peak, peakSpeed float64
	perSpan         float64 // 1/ω_s
	friction        [3]float64
	perPressure     float64 // N·m per Pa
	density         float64 // of dry air, relative to standard air at sea level
	flow            float64 // m per rad/s at full opening
	stop            float64 // share of the full area open at the idle stop
}

func newCurve(p Params, a air.State) curve {
	c := curve{
		peak: p.PeakPressure, peakSpeed: p.PeakSpeed, perSpan: 1 / p.SpeedSpan,
		friction:    [3]float64{p.FrictionConstant, p.FrictionLinear, p.FrictionSquare},
		perPressure: p.Displacement / (2 * math.Pi),
		density:     a.DryDensity / air.SeaDensity,
	}
	sonic := math.Sqrt(air.GasConstant * a.Temperature)
	c.flow = c.perPressure / (p.FlowCoefficient * p.IntakeArea * sonic)
	if p.IdleSpeed > 0 {
		c.stop = c.area(c.chargeFor(0, p.IdleSpeed), p.IdleSpeed)
	}
	if !(c.stop <= 1) {
		c.stop = 1
	}
	return c
}

// frictionPressure in Pa at a speed, rad/s.
func (c *curve) frictionPressure(speed float64) float64 {
	return c.friction[0] + speed*(c.friction[1]+speed*c.friction[2])
}

// fullPressure is the indicated mean effective pressure of a full charge in
// the present air, Pa.
func (c *curve) fullPressure(speed, friction float64) float64 {
	off := (speed - c.peakSpeed) * c.perSpan
	return max(0, c.peak*(1-off*off)+friction) * c.density
}

// Torque of a relative charge, 0 to 1, burning at a crank speed, rad/s, less
// friction, N·m.
func (c *curve) Torque(charge, speed float64) float64 {
	friction := c.frictionPressure(speed)
	return c.perPressure * (charge*c.fullPressure(speed, friction) - friction)
}

// chargeFor is the charge that makes a torque, N·m, at a speed, rad/s. It is
// above 1, perhaps infinite, when the engine cannot.
func (c *curve) chargeFor(torque, speed float64) float64 {
	friction := c.frictionPressure(speed)
	return (torque/c.perPressure + friction) / c.fullPressure(speed, friction)
}

// IdleStop is the share of the full area that the idle stop leaves open. It is
// 1 when the engine cannot hold its idle speed at all.
func (c *curve) IdleStop() float64 { return c.stop }

// Area is the open area as a share of the full, with the barrel open by a
// share, 0 to 1, of its way from the idle stop.
func (c *curve) Area(opening float64) float64 { return c.stop + (1-c.stop)*opening }

// Charge is the relative charge, 0 to 1, that settles at an opening, 0 to 1,
// and a speed, rad/s: Π(opening)/Π(full) with the quotient worked out for both
// free, one choked, and both choked.
func (c *curve) Charge(opening, speed float64) float64 {
	a := c.Area(opening)
	m := c.flow * speed
	h := m * m / 2
	switch {
	case a <= 0:
		return 0
	case h <= a*a:
		return a * a * (1 + h) / (a*a + h)
	case h <= 1:
		return a * (1 + h) / (m * math.Sqrt2)
	}
	return a
}

// area inverts Charge to a share of the full area. It is above 1, or NaN, for
// a charge above 1.
func (c *curve) area(charge, speed float64) float64 {
	m := c.flow * speed
	h := m * m / 2
	if h > 1 {
		return charge
	}
	part := charge / (1 + h) // Π at the opening
	if part < 0.5 {
		return part * m * math.Sqrt2
	}
	return math.Sqrt(h * part / (1 - part))
}

// OpeningFor gives the barrel opening at which the engine, settled at a speed
// in rad/s, makes a torque in N·m. It is below 0 or above 1, or NaN, when the
// engine cannot make so little or so much.
func (c *curve) OpeningFor(torque, speed float64) float64 {
	return (c.area(c.chargeFor(torque, speed), speed) - c.stop) / (1 - c.stop)
}
