package air

import "govrig/sim/bound"

// Params is the air at the field, in the range over which the equations of
// this package hold.
type Params struct {
	// Pressure is the station pressure (not reduced to sea level), Pa,
	// 50 000 to 110 000.
	Pressure float64
	// Temperature is absolute, K, 233.15 to 323.15.
	Temperature float64
	// Humidity is the relative humidity, 0 to 1.
	Humidity float64
}

// Validate reports the first field outside its range, as a *bound.Error.
func (p Params) Validate() error {
	return bound.Of("air").
		Field("Pressure", p.Pressure, 50e3, 110e3, "Pa").
		Field("Temperature", p.Temperature, 233.15, 323.15, "K").
		Field("Humidity", p.Humidity, 0, 1, "").
		Err()
}
