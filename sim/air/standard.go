// Package air gives the air that the engine breathes and the rotor beats:
// the standard atmosphere of the troposphere, the density of humid air and the
// speed of sound.
//
// The standard atmosphere is ISO 2533:1975, which agrees with the US Standard
// Atmosphere 1976 below 32 km; here it holds from −5 000 m to 11 000 m
// geopotential. Humid air follows the CIPM-2007 equation.
package air

import (
	"math"

	"govrig/sim/bound"
)

// Constants of ISO 2533:1975.
const (
	// Gravity is the standard acceleration of free fall, m/s².
	Gravity = 9.80665
	// GasConstant is that of dry air, J/(kg·K).
	GasConstant = 287.05287
	// SeaPressure is the standard pressure at sea level, Pa.
	SeaPressure = 101325.0
	// SeaTemperature is the standard temperature at sea level, K.
	SeaTemperature = 288.15
	// SeaDensity is the standard density at sea level, kg/m³.
	SeaDensity = SeaPressure / (GasConstant * SeaTemperature)
	// LapseRate is the fall of temperature with geopotential altitude, K/m.
	LapseRate = 6.5e-3
	// EarthRadius is the nominal radius that ties the two altitudes, m.
	EarthRadius = 6356766.0
	// HeatRatio is that of the specific heats of air.
	HeatRatio = 1.4
)

// State is a parcel of air.
type State struct {
	// Pressure in Pa.
	Pressure float64
	// Temperature in K.
	Temperature float64
	// Density in kg/m³.
	Density float64
	// DryDensity is the mass of dry air in a volume, kg/m³: what an engine
	// burns of it. It is Density less the water vapour.
	DryDensity float64
	// SoundSpeed in m/s.
	SoundSpeed float64
}

// Geopotential turns a geometric altitude z above sea level, m, into the
// geopotential one, m: H = r₀z/(r₀+z) (ISO 2533).
func Geopotential(z float64) float64 { return EarthRadius * z / (EarthRadius + z) }

// Geometric turns a geopotential altitude h, m, into the geometric one, m.
func Geometric(h float64) float64 { return EarthRadius * h / (EarthRadius - h) }

// AtGeopotential gives the standard atmosphere at geopotential altitude h, m,
// −5 000 to 11 000: T = T₀ − βH, p = p₀(T/T₀)^(g/βR), ρ = p/RT (ISO 2533).
func AtGeopotential(h float64) (State, error) {
	if err := bound.Of("air").Field("Altitude", h, -5000, 11000, "m").Err(); err != nil {
		return State{}, err
	}
	t := SeaTemperature - LapseRate*h
	p := SeaPressure * math.Pow(t/SeaTemperature, Gravity/(LapseRate*GasConstant))
	rho := p / (GasConstant * t)
	return State{Pressure: p, Temperature: t, Density: rho, DryDensity: rho, SoundSpeed: SoundSpeed(t)}, nil
}

// AtGeometric gives the standard atmosphere at geometric altitude z, m, what
// a map or a level shows, in the same range.
func AtGeometric(z float64) (State, error) { return AtGeopotential(Geopotential(z)) }

// SoundSpeed is that of dry air at temperature t, K: a = √(γRT) (ISO 2533).
// Humidity raises it by less than 1 % below 35 °C.
func SoundSpeed(t float64) float64 { return math.Sqrt(HeatRatio * GasConstant * t) }
