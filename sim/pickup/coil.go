package pickup

import "math"

// Coil is a variable-reluctance pickup: turns of wire on a core.
type Coil struct {
	Turns float64
	// Area is the core's face, m².
	Area float64
}

// CoilSignal is what a coil in the sensor's place gives.
type CoilSignal struct {
	// PeakPerSpeed is the largest voltage over the shaft's speed, V per rad/s:
	// the peak grows in proportion to speed.
	PeakPerSpeed float64
	// Area of the signal's positive part of a period, V·s: the same at any
	// speed, so that twice the peak is half the width.
	Area float64
}

// Signal works out a coil's open-circuit signal by Faraday's law, e = −N·dΦ/dt,
// with the flux taken as the field at the sensing element times the core's
// area. Iron that gathers flux is not in here, so it serves for scaling with
// speed and gap, not for absolute volts. The error is that of Params.Validate.
func (c Coil) Signal(p Params) (CoilSignal, error) {
	if err := p.Validate(); err != nil {
		return CoilSignal{}, err
	}
	flux := c.Turns * c.Area
	samples := newTrace(p).samples
	var signal CoilSignal
	for i, at := range samples[1:] {
		fall := samples[i].field - at.field
		signal.Area += flux * math.Max(0, fall)
		steep := math.Abs(fall) / (at.angle - samples[i].angle)
		signal.PeakPerSpeed = math.Max(signal.PeakPerSpeed, flux*steep)
	}
	return signal, nil
}
