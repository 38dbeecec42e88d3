package machine

import (
	"govrig/sim/pickup"
	"govrig/sim/unit"
)

// Pickup is the section pickup.
type Pickup struct {
	Magnets   int              `yaml:"magnets" low:"1" high:"12" example:"1" about:"How many magnets pass the sensor in one turn of the crankshaft, evenly spread."`
	Pattern   pickup.Pattern   `yaml:"poles" default:"same" one:"same,alternating" about:"Whether all magnets show the same pole, or every second one the other."`
	Magnet    Magnet           `yaml:"magnet" about:"One magnet, a cylinder magnetised along its axis."`
	Radius    unit.Length      `yaml:"radius" low:"5 mm" high:"200 mm" example:"32 mm" about:"From the shaft to the middle of the magnets."`
	Axis      pickup.Direction `yaml:"magnet_axis" default:"gap" one:"gap,travel,cross" about:"Where the magnet's axis points: across the gap to the sensor, along its travel, or square to both."`
	Pole      pickup.Pole      `yaml:"pole" default:"south" one:"north,south" about:"The pole that looks at the sensor (axis gap), leads (travel), or looks along the shaft away from the engine (cross)."`
	Placement pickup.Placement `yaml:"placement" default:"face" one:"rim,face" about:"Whether the sensor looks at the rim of the wheel or at its face."`
	Gap       unit.Length      `yaml:"gap" low:"0.1 mm" high:"20 mm" example:"1.5 mm" about:"Air between magnet and sensor at the closest pass."`
	Offset    unit.Length      `yaml:"offset" default:"0 mm" low:"-30 mm" high:"30 mm" about:"How far the sensor sits beside the magnet's path."`
	Sensor    Sensor           `yaml:"sensor" about:"The Hall sensor."`
	Active    Level            `yaml:"active" default:"low" one:"low,high" about:"Level of the pickup line while a magnet is felt; open-collector sensors pull it low."`
}

// Magnet is the section magnet of a pickup.
type Magnet struct {
	Diameter  unit.Length `yaml:"diameter" low:"0.5 mm" high:"30 mm" example:"4 mm" about:"Diameter."`
	Length    unit.Length `yaml:"length" low:"0.2 mm" high:"30 mm" example:"2 mm" about:"Length from pole to pole."`
	Remanence unit.Flux   `yaml:"remanence" default:"1.2 T" low:"0.05 T" high:"1.6 T" about:"Remanence; about 1.2 T for usual neodymium."`
}

// Sensor is the section sensor of a pickup.
type Sensor struct {
	Kind       pickup.Kind      `yaml:"kind" default:"unipolar" one:"unipolar,latch,omnipolar" about:"How the switch answers: to one pole, on with one and off with the other, or to either pole."`
	Facing     pickup.Direction `yaml:"facing" default:"gap" one:"gap,travel,cross" about:"Where the sensor's face looks: across the gap at the magnet, along the travel, or square to both."`
	Side       Side             `yaml:"side" default:"branded" one:"branded,plain" about:"The side of the sensor that looks at the magnet."`
	Depth      unit.Length      `yaml:"depth" default:"0.5 mm" low:"0 mm" high:"5 mm" about:"How far the sensing element lies behind that side."`
	Operate    unit.Flux        `yaml:"operate" new:"set" default:"10 mT" low:"0.2 mT" high:"200 mT" about:"Operate point, typical. Positive is a south pole at the branded face."`
	OperateMax unit.Flux        `yaml:"operate_max" new:"set" default:"=operate" example:"12 mT" low:"0.2 mT" high:"300 mT" about:"Operate point of the least sensitive part, from the data sheet."`
	Release    unit.Flux        `yaml:"release" new:"set" default:"5 mT" low:"-200 mT" high:"200 mT" about:"Release point, typical; below the operate point, and negative for a latch."`
	ReleaseMin unit.Flux        `yaml:"release_min" new:"set" default:"=release" example:"4 mT" low:"-300 mT" high:"200 mT" about:"Release point of the part that lets go last, from the data sheet."`
}

// Side of a sensor.
type Side string

// Sides of a sensor.
const (
	Branded Side = "branded"
	Plain   Side = "plain"
)

// Level of a line.
type Level string

// Levels of a line.
const (
	Low  Level = "low"
	High Level = "high"
)

// Air is the section air.
type Air struct {
	Altitude    unit.Length      `yaml:"altitude" new:"set" default:"0 m" low:"-400 m" high:"5000 m" about:"Height of the field above sea level. The pressure is that of the standard atmosphere there, unless pressure is given."`
	Pressure    *unit.Pressure   `yaml:"pressure" default:"" low:"500 hPa" high:"1100 hPa" example:"968 hPa" about:"Pressure as a barometer at the field shows it, not reduced to sea level. Used in place of the altitude."`
	Temperature unit.Temperature `yaml:"temperature" new:"set" default:"15 °C" low:"-30 °C" high:"50 °C" about:"Temperature of the air."`
	Humidity    unit.Share       `yaml:"humidity" new:"set" default:"50 %" low:"0 %" high:"100 %" about:"Relative humidity of the air."`
}
