package unit

import (
	"math"
	"strings"
)

// The dimensions. This table is the only place where a written unit meets SI.
var (
	length = &Dimension{"length", []Unit{
		per("mm", 1000), per("cm", 100), times("m", 1), times("in", 0.0254, "inch", "\""),
	}}
	volume = &Dimension{"volume", []Unit{
		per("cm³", 1e6, "cc", "ccm", "CC", "CCM"), per("ml", 1e6, "mL"),
	}}
	mass = &Dimension{"mass", []Unit{
		per("g", 1000), times("kg", 1), times("lb", 0.45359237, "lbs"), times("oz", 0.028349523125),
	}}
	inertia = &Dimension{"moment of inertia", []Unit{
		per("g·m²", 1000), times("kg·m²", 1), per("g·cm²", 1e7), per("kg·cm²", 1e4),
	}}
	torque = &Dimension{"torque", []Unit{
		times("N·m", 1), per("N·cm", 100), per("mN·m", 1000),
	}}
	pressure = &Dimension{"pressure", []Unit{
		times("kPa", 1000), times("bar", 1e5), times("hPa", 100), times("mbar", 100), times("Pa", 1),
	}}
	speed = &Dimension{"rotational speed", []Unit{
		times("rpm", math.Pi/30, "RPM", "Rpm", "U/min", "1/min", "r/min", "rev/min", "min-1"), times("rad/s", 1),
	}}
	acceleration = &Dimension{"rotational acceleration", []Unit{
		times("rpm/s", math.Pi/30, "RPM/s"), times("rad/s²", 1),
	}}
	duration = &Dimension{"time", []Unit{
		per("ms", 1e3), per("µs", 1e6), times("s", 1),
	}}
	frequency = &Dimension{"frequency", []Unit{times("Hz", 1)}}
	angle     = &Dimension{"angle", []Unit{
		times("°", math.Pi/180, "deg", "degrees"), times("rad", 1),
	}}
	share = &Dimension{"percentage", []Unit{per("%", 100)}}
	flux  = &Dimension{"magnetic flux density", []Unit{
		per("mT", 1000), times("T", 1), per("G", 1e4),
	}}
	temperature = &Dimension{"temperature", []Unit{
		{Symbol: "°C", Times: 1, Per: 1, Plus: 273.15, spellings: []string{"°C", "degC", "C"}},
		{Symbol: "°F", Times: 5, Per: 9, Plus: 459.67 * 5 / 9, spellings: []string{"°F", "degF", "F"}},
		times("K", 1),
	}}
	gain = &Dimension{"throttle travel per speed", []Unit{
		times("%/krpm", 0.01/(1000*math.Pi/30)), times("%/rpm", 0.01/(math.Pi/30)),
	}}
)

// Dimensions are all of them.
var Dimensions = []*Dimension{
	length, volume, mass, inertia, torque, pressure, speed, acceleration,
	duration, frequency, angle, share, flux, temperature, gain,
}

func times(symbol string, factor float64, also ...string) Unit {
	return Unit{Symbol: symbol, Times: factor, Per: 1, spellings: spell(symbol, also)}
}

func per(symbol string, divisor float64, also ...string) Unit {
	return Unit{Symbol: symbol, Times: 1, Per: divisor, spellings: spell(symbol, also)}
}

// variants of a character, for keyboards that lack it: the Greek letter mu
// beside the micro sign, the dot operator or no dot beside the middle dot.
var variants = []struct {
	char string
	also []string
}{
	{"·", []string{"·", "⋅", "*", ""}},
	{"²", []string{"²", "2", "^2"}},
	{"³", []string{"³", "3", "^3"}},
	{"µ", []string{"µ", "μ", "u"}},
}

// spell gives every way to write a symbol.
func spell(symbol string, also []string) []string {
	all := []string{symbol}
	for _, v := range variants {
		var grown []string
		for _, s := range all {
			if !strings.Contains(s, v.char) {
				grown = append(grown, s)
				continue
			}
			for _, a := range v.also {
				grown = append(grown, strings.ReplaceAll(s, v.char, a))
			}
		}
		all = grown
	}
	return append(all, also...)
}
