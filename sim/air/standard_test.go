package air_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"govrig/sim/air"
	"govrig/sim/bound"
)

// Printed values of the US Standard Atmosphere 1976 over geometric altitude,
// Public Domain Aeronautical Software, atmosTable2SI. The table truncates the
// temperature and rounds the rest.
func TestPrintedTableOverGeometricAltitude(t *testing.T) {
	for _, row := range []struct{ z, t, p, rho float64 }{
		{0, 288.1, 101325, 1.225},
		{500, 284.9, 95461, 1.167},
		{1000, 281.6, 89876, 1.112},
		{2000, 275.1, 79501, 1.007},
	} {
		s, err := air.AtGeometric(row.z)
		require.NoError(t, err)
		require.Equal(t, row.t, math.Floor(s.Temperature*10)/10, "%g m", row.z)
		require.Equal(t, row.p, math.Round(s.Pressure), "%g m", row.z)
		require.Equal(t, row.rho, math.Round(s.Density*1000)/1000, "%g m", row.z)
	}
}

// The same formulas worked apart from this code, to one more digit, over both
// altitudes; speed of sound from ISO 2533:1975.
func TestFormulaOverGeopotentialAltitude(t *testing.T) {
	for _, row := range []struct{ h, t, p, rho float64 }{
		{0, 288.15, 101325, 1.225},
		{500, 284.9, 95460.8, 1.167269},
		{1000, 281.65, 89874.6, 1.111643},
		{2000, 275.15, 79495.2, 1.006490},
	} {
		s, err := air.AtGeopotential(row.h)
		require.NoError(t, err)
		require.InDelta(t, row.t, s.Temperature, 5e-5)
		require.InDelta(t, row.p, s.Pressure, 0.05)
		require.InDelta(t, row.rho, s.Density, 5e-7)
	}
	require.InDelta(t, 340.294, air.SoundSpeed(288.15), 5e-4)
	require.InDelta(t, 336.434, air.SoundSpeed(281.65), 5e-4)
}

func TestAltitudesInvert(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		z := rapid.Float64Range(-5000, 11000).Draw(t, "z")
		require.InDelta(t, z, air.Geometric(air.Geopotential(z)), 1e-8)
	})
}

func TestAltitudeBeyondTheTroposphereIsRefused(t *testing.T) {
	for _, h := range []float64{-5001, 11001, math.NaN()} {
		_, err := air.AtGeopotential(h)
		var e *bound.Error
		require.ErrorAs(t, err, &e)
		require.Equal(t, "Altitude", e.Field)
	}
}
