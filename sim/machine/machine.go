package machine

import (
	"govrig/sim/heli"
	"govrig/sim/keyfile"
	"govrig/sim/linkage"
	"govrig/sim/pickup"
	"govrig/sim/standin/governor/model"
	"govrig/sim/unit"
)

// Format is the value of the key format: what kind of file this is, and which
// version of it.
const Format = "govrig/machine/1"

// File is the machine file as a kind: the declarations of its keys. In one for a
// petrol engine some have other defaults.
var File = keyfile.Declare[Machine]("machine", "name: My machine", "govrig new writes one to fill in",
	keyfile.Variant{Key: "fuel", Word: string(Petrol)})

// Machine is a machine file: what stands in it, in SI.
//
// The tags declare the keys of the file, and are read into File.
type Machine struct {
	Format string  `yaml:"format" one:"govrig/machine/1" about:"The kind of this file and its version."`
	Name   string  `yaml:"name" example:"My machine" about:"What the machine is called on reports."`
	Notes  string  `yaml:"notes" default:"" example:"Governor new this season." about:"Anything worth remembering."`
	Engine Engine  `yaml:"engine" about:"The engine, a single-cylinder two-stroke."`
	Clutch Clutch  `yaml:"clutch" about:"The centrifugal clutch."`
	Gears  []Stage `yaml:"gears" about:"Reduction stages from the clutch bell to the main shaft, in order."`
	Main   Main    `yaml:"main_rotor" about:"The main rotor."`
	Tail   Tail    `yaml:"tail_rotor" about:"The tail rotor and its drive."`
	// FlyingMass is the all-up mass, kg.
	FlyingMass  unit.Mass   `yaml:"flying_mass" low:"200 g" high:"60 kg" example:"4.6 kg" about:"Mass of the machine ready to fly, with half its fuel."`
	Servo       Servo       `yaml:"throttle_servo" about:"The servo on the governor's throttle line."`
	Linkage     Linkage     `yaml:"throttle_linkage" about:"Servo arm, rod and carburettor arm. Angles are from the line servo shaft to carburettor pivot; 90° is square to it."`
	Carburettor Carburettor `yaml:"carburettor" about:"The rotary barrel of the carburettor."`
	Pickup      Pickup      `yaml:"pickup" about:"The magnetic pickup: magnets that turn, a Hall sensor that stands."`
	Air         Air         `yaml:"air" about:"The air at the field."`
	// Transmitter is nil when the file has none.
	Transmitter *Transmitter `yaml:"transmitter" default:"" about:"What the transmitter sends to the governor's stick input. Left out, nothing is asked about it."`
	Governor    Governor     `yaml:"governor" about:"What the governor's paper says about it."`
	Speeds      Speeds       `yaml:"speeds" example:"hover" about:"The wanted head speeds by name, with the limits that each must meet."`
	LoadStep    LoadStep     `yaml:"load_step" about:"The load change of the loadstep procedure: collective pitch up, held, and down again."`
	StandIn     StandIn      `yaml:"stand_in" about:"The simulated governor that takes the place of a real one in virtual runs."`

	// Other, where set, is the governor that takes the stand-in's place in virtual
	// runs and predictions.
	Other *model.Model `yaml:"-"`

	// File is the name under which the file was read; Text is all of it.
	File, Text string `yaml:"-"`
	// Defaults lists what was assumed for keys left out: "air.humidity: 50 %".
	Defaults []string `yaml:"-"`
	// Cautions are remarks that do not stand in the way of a run, each with
	// its place in the file.
	Cautions []string `yaml:"-"`

	heli    heli.Params
	linkage linkage.Params
	pickup  pickup.Params
}

// Speed finds a wanted head speed by its name.
func (m *Machine) Speed(name string) (SpeedSetting, bool) {
	for _, s := range m.Speeds {
		if s.Name == name {
			return s, true
		}
	}
	return SpeedSetting{}, false
}
