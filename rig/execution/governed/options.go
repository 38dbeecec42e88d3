package governed

import (
	"govrig/rig/execution"
	"govrig/sim/machine"
)

// AtSpeed is embedded in the options of a procedure that is done at one speed
// setting.
type AtSpeed struct {
	execution.Plain `json:"-"`
	// Speed is the name of the speed setting; empty is the first.
	Speed string
}

// Flags are those that a person can set.
func (o *AtSpeed) Flags() []execution.Flag {
	return []execution.Flag{{Name: "speed", Usage: "name of the speed setting in the machine file (default: the first)", Value: &o.Speed}}
}

// SetSpeed sets the speed setting.
func (o *AtSpeed) SetSpeed(name string) { o.Speed = name }

// Setting is the speed setting that is named. Errors name those that there are.
func (o *AtSpeed) Setting(m *machine.Machine) (machine.SpeedSetting, error) {
	return choose(m, o.Speed)
}

// AtSpeeds is embedded in the options of a procedure that is done at one speed
// setting or at all.
type AtSpeeds struct {
	execution.Plain `json:"-"`
	// Speed is the name of the speed setting; empty is the first, AllSpeeds every
	// one.
	Speed string
}

// Flags are those that a person can set.
func (o *AtSpeeds) Flags() []execution.Flag {
	return []execution.Flag{{Name: "speed", Usage: "name of the speed setting in the machine file, or all (default: the first)", Value: &o.Speed}}
}

// SetSpeed sets the speed setting.
func (o *AtSpeeds) SetSpeed(name string) { o.Speed = name }

// Settings are the speed settings that are named, at least one. Errors name
// those that there are.
func (o *AtSpeeds) Settings(m *machine.Machine) ([]machine.SpeedSetting, error) {
	return chooseSeveral(m, o.Speed)
}

// AtEach names one speed setting, or all by AllSpeeds.
func AtEach(name string) AtSpeeds { return AtSpeeds{Speed: name} }
