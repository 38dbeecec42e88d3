package unit_test

import (
	"math"
	"regexp"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"govrig/sim/unit"
)

func parse[Q unit.Quantity](text string) (float64, error) {
	var q Q
	return q.Dimension().Parse(text)
}

// The factors are exact by definition (BIPM, SI Brochure, 9th ed., tables 4, 7
// and 8; the gauss of 0.1 mT from the CGS-EMU system, NIST SP 811, appendix B, which has
// the inch, the pound and the ounce, too; °F by its definition, 32 °F = 0 °C).
// The SI values are written out by hand.
func TestWrittenUnitsBecomeSI(t *testing.T) {
	for _, c := range []struct {
		parse func(string) (float64, error)
		text  string
		si    float64
	}{
		{parse[unit.Length], "8.5 mm", 0.0085},
		{parse[unit.Length], "9mm", 0.009},
		{parse[unit.Length], "6.9e1 cm", 0.69},
		{parse[unit.Length], "-.5 m", -0.5},
		{parse[unit.Length], "1. m", 1},
		{parse[unit.Volume], "15 cm³", 15e-6},
		{parse[unit.Volume], "15cm^3", 15e-6},
		{parse[unit.Volume], "15 cc", 15e-6},
		{parse[unit.Volume], "15 ml", 15e-6},
		{parse[unit.Volume], "15ccm", 15e-6},
		{parse[unit.Volume], "8,5 cm³", 8.5e-6},
		{parse[unit.Volume], "-0,125 cm³", -0.125e-6},
		{parse[unit.Volume], "1660,125 cm³", 1660.125e-6},
		{parse[unit.Volume], "8,1234 cm³", 8.1234e-6},
		{parse[unit.Speed], "17 200 RPM", 17200 * math.Pi / 30},
		{parse[unit.Speed], "17\u202f200.5 U/min", 17200.5 * math.Pi / 30},
		{parse[unit.Speed], "30 min-1", math.Pi},
		{parse[unit.Length], "10 in", 0.254},
		{parse[unit.Length], "1 inch", 0.0254},
		{parse[unit.Length], "2\"", 0.0508},
		{parse[unit.Mass], "10 lb", 4.5359237},
		{parse[unit.Mass], "16 oz", 0.45359237},
		{parse[unit.Inertia], "120 gm²", 0.12},
		{parse[unit.Inertia], "0,35 kgcm2", 35e-6},
		{parse[unit.Temperature], "68 °F", 293.15},
		{parse[unit.Temperature], "32 degF", 273.15},
		{parse[unit.Angle], "90 degrees", math.Pi / 2},
		{parse[unit.Mass], "165 g", 0.165},
		{parse[unit.Inertia], "120 g·m²", 0.12},
		{parse[unit.Inertia], "120 g*m2", 0.12},
		{parse[unit.Inertia], "120 g⋅m^2", 0.12},
		{parse[unit.Inertia], "350 g·cm²", 35e-6},
		{parse[unit.Inertia], "0.35 kg·cm²", 35e-6},
		{parse[unit.Torque], "25 N·cm", 0.25},
		{parse[unit.Torque], "250 mN·m", 0.25},
		{parse[unit.Pressure], "3.5 bar", 350e3},
		{parse[unit.Pressure], "1013.25 hPa", 101325},
		{parse[unit.Speed], "30 rpm", math.Pi},
		{parse[unit.Speed], "5 rad/s", 5},
		{parse[unit.Acceleration], "30 rpm/s", math.Pi},
		{parse[unit.Time], "1520 µs", 1520e-6},
		{parse[unit.Time], "1520 μs", 1520e-6}, // Greek mu
		{parse[unit.Time], "1520 us", 1520e-6},
		{parse[unit.Time], "22\u00a0ms", 0.022},
		{parse[unit.Frequency], "71 Hz", 71},
		{parse[unit.Angle], "180°", math.Pi},
		{parse[unit.Angle], "90 deg", math.Pi / 2},
		{parse[unit.Share], "5 %", 0.05},
		{parse[unit.Flux], "120 G", 0.012},
		{parse[unit.Flux], "12 mT", 0.012},
		{parse[unit.Temperature], "20 °C", 293.15},
		{parse[unit.Temperature], "20 C", 293.15},
		{parse[unit.Temperature], "288.15 K", 288.15},
		{parse[unit.Gain], "30 %/krpm", 0.3 * 30 / (1000 * math.Pi)},
		{parse[unit.Gain], "0.03 %/rpm", 0.3 * 30 / (1000 * math.Pi)},
	} {
		got, err := c.parse(c.text)
		require.NoError(t, err, c.text)
		require.InEpsilon(t, c.si, got, 4e-16, c.text) // two roundings
	}
}

func TestRefusals(t *testing.T) {
	for _, c := range []struct{ text, problem string }{
		{"15", "has no unit"},
		{"15 mm", "is a length, where a volume is wanted"},
		{"15 °", "is an angle, where a volume is wanted"},
		{"15 litres", "not known here"},
		{"15 CM³", "not known here"},
		{"1,660 cm³", "comma that may be"},
		{"12,345,678 cm³", "comma that may be"},
		{"1,2,3 cm³", "not known here"},
		{"1.660,5 cm³", "not known here"},
		{"cm³", "not a number"},
		{"", "not a number"},
		{"about 15 cm³", "not a number"},
		{"15 cm³ or so", "not known here"},
		{"NaN cm³", "not a number"},
		{"1e999 cm³", "too large"},
		{"0x10 cm³", "not known here"},
		{"1_000 cm³", "not known here"},
	} {
		_, err := parse[unit.Volume](c.text)
		var wrong *unit.Error
		require.ErrorAs(t, err, &wrong, c.text)
		require.Contains(t, wrong.Problem, c.problem, c.text)
		require.Equal(t, c.text, wrong.Text)
		require.NotEmpty(t, wrong.Remedy)
	}
}

// Every spelling of every unit stands for one dimension only, so that a wrong
// unit can be told by its name. (C is the temperature, not a charge.)
func TestSpellingsAreUnambiguous(t *testing.T) {
	for _, d := range unit.Dimensions {
		for _, u := range d.Units {
			for _, other := range unit.Dimensions {
				if _, err := other.Parse("1 " + u.Symbol); err == nil {
					require.Equal(t, d.Name, other.Name, u.Symbol)
				}
			}
		}
	}
}

func TestRoundKeepsThreeDigits(t *testing.T) {
	for text, si := range map[string]float64{
		"8.67 mm": 0.0086666, "14300 rpm": 14296 * math.Pi / 30, "0.0123 mm": 12.345e-6, "-20.6 mm": -0.02056, "0 mm": 0,
	} {
		d := unit.Length(0).Dimension()
		if text == "14300 rpm" {
			d = unit.Speed(0).Dimension()
		}
		require.Equal(t, text, d.Round(si, d.Units[0].Symbol))
	}
}

// What Format writes, Parse reads back to the digits that Format keeps.
func TestFormatAndParseAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.SampledFrom(unit.Dimensions).Draw(t, "dimension")
		u := rapid.SampledFrom(d.Units).Draw(t, "unit")
		si := rapid.Float64Range(1e-3, 1e3).Draw(t, "si")
		back, err := d.Parse(d.Format(si, u.Symbol))
		require.NoError(t, err)
		require.InDelta(t, si, back, 1e-5*si+1e-5*math.Abs(u.Plus))
	})
}

// Pattern and Parse accept the same texts.
func TestPatternIsWhatParseAccepts(t *testing.T) {
	patterns := map[*unit.Dimension]*regexp.Regexp{}
	for _, d := range unit.Dimensions {
		patterns[d] = regexp.MustCompile(d.Pattern())
	}
	number := rapid.SampledFrom([]string{"", "1", "-2.5", "+.5", "1.", "1e3", "1e", ".", "1,5", "0x1", "--1", " 1"})
	gap := rapid.SampledFrom([]string{"", " ", "  ", "\u00a0", "\u202f", "\t", "\n"})
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.SampledFrom(unit.Dimensions).Draw(t, "dimension")
		from := rapid.SampledFrom(unit.Dimensions).Draw(t, "unit of")
		u := rapid.SampledFrom(from.Units).Draw(t, "unit")
		text := number.Draw(t, "number") + gap.Draw(t, "gap") + u.Symbol + rapid.SampledFrom([]string{"", "", " ", "x", "\n"}).Draw(t, "tail")
		_, err := d.Parse(text)
		require.Equal(t, err == nil, patterns[d].MatchString(text), text)
	})
}
