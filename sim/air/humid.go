package air

import "math"

// Density of humid air, kg/m³, by CIPM-2007 (Picard, Davis, Gläser and Fujii,
// Metrologia 45 (2008) 149–155; coefficients from memory):
//
//	ρ = pMa/(ZRT)·(1 − xv(1 − Mv/Ma))
//
// with the mole fraction of water xv from the humidity, the saturation
// pressure and the enhancement factor, and Z the compressibility. Its authors
// give it for 60 to 110 kPa and 15 to 27 °C; beyond that it departs from the
// ideal two-gas mixture by less than 0.1 % over the range of Params. Carbon
// dioxide is taken as 400 µmol/mol.
func (p Params) Density() float64 {
	dry, water := p.parts()
	return dry + water
}

// parts are the densities of dry air and of water vapour, kg/m³.
func (p Params) parts() (dry, water float64) {
	const (
		gas       = 8.314472    // J/(mol·K)
		dryMass   = 28.96546e-3 // kg/mol
		waterMass = 18.01528e-3 // kg/mol
	)
	xv := p.waterShare()
	moles := p.Pressure / (compressibility(p.Pressure, p.Temperature, xv) * gas * p.Temperature)
	return moles * (1 - xv) * dryMass, moles * xv * waterMass
}

// State gives the air as the rotor and the engine need it.
func (p Params) State() State {
	dry, water := p.parts()
	return State{
		Pressure:    p.Pressure,
		Temperature: p.Temperature,
		Density:     dry + water,
		DryDensity:  dry,
		SoundSpeed:  SoundSpeed(p.Temperature),
	}
}

// waterShare is the mole fraction of water vapour.
func (p Params) waterShare() float64 {
	t, c := p.Temperature, p.Temperature-273.15
	saturation := math.Exp(1.2378847e-5*t*t - 1.9121316e-2*t + 33.93711047 - 6.3431645e3/t)
	enhancement := 1.00062 + 3.14e-8*p.Pressure + 5.6e-7*c*c
	return p.Humidity * enhancement * saturation / p.Pressure
}

// compressibility is Z at p Pa, t K and water share xv.
func compressibility(p, t, xv float64) float64 {
	c, pt := t-273.15, p/t
	virial := 1.58123e-6 - 2.9331e-8*c + 1.1043e-10*c*c +
		(5.707e-6-2.051e-8*c)*xv + (1.9898e-4-2.376e-6*c)*xv*xv
	return 1 - pt*virial + pt*pt*(1.83e-11-0.765e-8*xv*xv)
}

// At is the air of a day: the standard pressure of a geometric altitude, m,
// −5 000 to 11 000, with the temperature, K, and relative humidity, 0 to 1,
// of the day.
func At(altitude, temperature, humidity float64) (Params, error) {
	s, err := AtGeometric(altitude)
	if err != nil {
		return Params{}, err
	}
	p := Params{Pressure: s.Pressure, Temperature: temperature, Humidity: humidity}
	return p, p.Validate()
}

// Standard is dry air at sea level.
func Standard() Params { return Params{Pressure: SeaPressure, Temperature: SeaTemperature} }
