package air_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"govrig/sim/air"
)

// The CIPM-2007 formula worked apart from this code (Picard et al.,
// Metrologia 45 (2008) 149–155), to the digits given.
func TestHumidDensity(t *testing.T) {
	for _, row := range []struct{ celsius, hPa, share, rho float64 }{
		{20, 1013.25, 0.5, 1.199314},
		{20, 1013.25, 0, 1.204557},
		{15, 1013.25, 0, 1.225521},
		{30, 1000, 0.8, 1.134777},
		{35, 950, 0.6, 1.059842},
	} {
		p := air.Params{Pressure: row.hPa * 100, Temperature: row.celsius + 273.15, Humidity: row.share}
		require.InDelta(t, row.rho, p.Density(), 5e-7, "%+v", row)
	}
}

// oiml is the approximation of OIML R 111-1 (formula from memory): 0.2 per
// mille in 900 to 1100 hPa, 10 to 30 °C, below 80 %.
func oiml(hPa, celsius, percent float64) float64 {
	return (0.34848*hPa - 0.009*percent*math.Exp(0.061*celsius)) / (273.15 + celsius)
}

func TestHumidDensityAgreesWithOIML(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		hPa := rapid.Float64Range(900, 1100).Draw(t, "hPa")
		c := rapid.Float64Range(10, 30).Draw(t, "celsius")
		h := rapid.Float64Range(0, 80).Draw(t, "percent")
		p := air.Params{Pressure: hPa * 100, Temperature: c + 273.15, Humidity: h / 100}
		require.InEpsilon(t, oiml(hPa, c, h), p.Density(), 3e-4)
	})
}

// The ideal mixture of dry air and water vapour over the whole range of
// Params, with Magnus' saturation pressure (Sonntag 1990, from memory).
func TestHumidDensityStaysCloseToTheIdealMixture(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := air.Params{
			Pressure:    rapid.Float64Range(50e3, 110e3).Draw(t, "Pa"),
			Temperature: rapid.Float64Range(273.15, 323.15).Draw(t, "K"),
			Humidity:    rapid.Float64Range(0, 1).Draw(t, "share"),
		}
		c := p.Temperature - 273.15
		vapour := p.Humidity * 611.2 * math.Exp(17.62*c/(243.12+c))
		ideal := (p.Pressure-vapour)/(287.05*p.Temperature) + vapour/(461.495*p.Temperature)
		require.InEpsilon(t, ideal, p.Density(), 1e-3)
		require.InEpsilon(t, (p.Pressure-vapour)/(287.05*p.Temperature), p.State().DryDensity, 1e-3)
	})
}

// 760 mmHg, 20 °C, dew point 10 °C: 1.199 kg/m³ (builders' table,
// constructionwork.com), to its last digit.
func TestHumidDensityFromDewPoint(t *testing.T) {
	humidity := math.Exp(17.62*10/(243.12+10) - 17.62*20/(243.12+20))
	p := air.Params{Pressure: 101325, Temperature: 293.15, Humidity: humidity}
	require.InDelta(t, 1.199, p.Density(), 1e-3)
}

func TestAirOfADay(t *testing.T) {
	p, err := air.At(500, 303.15, 0.6)
	require.NoError(t, err)
	require.InDelta(t, 95461.3, p.Pressure, 0.05)
	require.Less(t, p.State().Density, 1.10)
	_, err = air.At(500, 400, 0.6)
	require.Error(t, err)
	require.NoError(t, air.Standard().Validate())
	require.InDelta(t, air.SeaDensity, air.Standard().Density(), 6e-4)
}
