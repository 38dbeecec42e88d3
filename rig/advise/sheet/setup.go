package sheet

import (
	"errors"
	"fmt"
	"slices"

	"govrig/protocol"
	"govrig/sim/air"
	"govrig/sim/drive"
	"govrig/sim/linkage"
	"govrig/sim/machine"
	"govrig/sim/pickup"
	"govrig/sim/rotor"
)

// Setup is what the sheet is worked out from.
type Setup struct {
	// Machine is the name that heads the sheet.
	Machine string
	// Fuel is what the engine burns.
	Fuel machine.Fuel
	// Stages run from the crankshaft to the main shaft. ByRatio is set when one
	// was given as a ratio, and its teeth are not known.
	Stages  []drive.Stage
	ByRatio bool
	Rotor   rotor.Params
	// GreatestHead is the greatest head speed that the blade maker allows,
	// rad/s; 0 is unknown.
	GreatestHead float64
	// BladeMass is that of one blade, kg; 0 is unknown.
	BladeMass float64
	Air       air.Params
	Linkage   linkage.Params
	// Pickup sits on the crankshaft.
	Pickup   pickup.Params
	Governor machine.Governor
	// ServoFrames is the most pulses a second that the throttle servo is made
	// for, Hz; 0 is unknown.
	ServoFrames float64
	// Transmitter is nil when nothing is known of it.
	Transmitter *machine.Transmitter
	// Speeds are the wanted ones, at least one.
	Speeds []Speed
	Board  Board
	// Assumed lists what was taken for values that nobody gave.
	Assumed []string
}

// FromMachine takes the Setup from a machine file.
func FromMachine(m *machine.Machine, board Board) Setup {
	heli := m.HeliParams()
	s := Setup{
		Machine:      m.Name,
		Stages:       heli.Drive.Stages,
		Rotor:        heli.Rotor,
		BladeMass:    float64(m.Main.BladeMass),
		GreatestHead: float64(m.Main.GreatestHeadSpeed),
		Air:          heli.Air,
		Linkage:      m.LinkageParams(),
		Pickup:       m.PickupParams(),
		Governor:     m.Governor,
		Fuel:         m.Engine.Fuel,
		ByRatio:      slices.ContainsFunc(m.Gears, func(g machine.Stage) bool { return g.Driver == 0 }),
		ServoFrames:  m.Servo.GreatestFrameRate(),
		Transmitter:  m.Transmitter,
		Board:        board,
		Assumed:      m.Defaults,
	}
	for _, speed := range m.Speeds {
		pulse, _ := m.SettingPulse(speed)
		s.Speeds = append(s.Speeds, Speed{Name: speed.Name, Head: float64(speed.HeadSpeed), StoredSelect: pulse})
	}
	return s
}

// Speed is a head speed that the person wants.
type Speed struct {
	Name string
	// Head in rad/s, above 0.
	Head float64
	// StoredSelect is the pulse width, s, that picks it from the settings that
	// are stored in a governor with select: steps.
	StoredSelect float64
}

// Board is what the rig's board can play on the pickup line, in seconds.
type Board struct {
	Tick                 float64
	MinPeriod, MaxPeriod float64
	MinWidth, MinGap     float64
}

// HobbyBoard is a board with the limits of package protocol, and no slower than
// 50 pulses a second: what is slower is no running engine.
func HobbyBoard() Board {
	const tick = 1. / protocol.TickHz
	return Board{
		Tick: tick, MinPeriod: protocol.MinPeriodTicks * tick, MaxPeriod: 1. / 50,
		MinWidth: protocol.MinWidthTicks * tick, MinGap: protocol.MinWidthTicks * tick,
	}
}

// Validate tells what makes the sheet impossible to work out. The linkage and
// the pickup are checked by their own packages.
func (s Setup) Validate() error {
	err := errors.Join(s.Rotor.Validate(), s.Air.Validate())
	if err != nil {
		return err
	}
	if len(s.Stages) == 0 {
		return fmt.Errorf("%w", drive.ErrNoStages)
	}
	if len(s.Speeds) == 0 {
		return errors.New("no head speed is wanted")
	}
	for _, speed := range s.Speeds {
		if !(speed.Head > 0 && speed.Head < 2000) {
			return fmt.Errorf("head speed %q cannot be %g rad/s", speed.Name, speed.Head)
		}
	}
	if g := s.Governor; g.SpeedStep < 0 || !(0 < g.SpeedLow && g.SpeedLow < g.SpeedHigh) || g.SelectLow == g.SelectHigh || g.PulsesPerTurn < 1 {
		return fmt.Errorf("governor facts cannot be %+v", g)
	}
	return nil
}
