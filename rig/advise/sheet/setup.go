package sheet

import (
	"errors"
	"fmt"

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
	// Stages run from the crankshaft to the main shaft.
	Stages []drive.Stage
	Rotor  rotor.Params
	// BladeMass is that of one blade, kg; 0 is unknown.
	BladeMass float64
	Air       air.Params
	Linkage   linkage.Params
	// Pickup sits on the crankshaft.
	Pickup   pickup.Params
	Governor Governor
	// Speeds are the wanted ones, at least one.
	Speeds []Speed
	Board  Board
	// Assumed lists what was taken for values that nobody gave.
	Assumed []string
}

// FromMachine takes the Setup from a machine file.
func FromMachine(m *machine.Machine, board Board) Setup {
	heli, g := m.HeliParams(), m.Governor
	s := Setup{
		Machine:   m.Name,
		Stages:    heli.Drive.Stages,
		Rotor:     heli.Rotor,
		BladeMass: float64(m.Main.BladeMass),
		Air:       heli.Air,
		Linkage:   m.LinkageParams(),
		Pickup:    m.PickupParams(),
		Governor: Governor{
			Step: float64(g.SpeedStep), Low: float64(g.SpeedLow), High: float64(g.SpeedHigh),
			SelectLow: float64(g.SelectLow), SelectHigh: float64(g.SelectHigh),
			PulsesPerTurn: g.PulsesPerTurn,
		},
		Board:   board,
		Assumed: m.Defaults,
	}
	for _, speed := range m.Speeds {
		s.Speeds = append(s.Speeds, Speed{Name: speed.Name, Head: float64(speed.HeadSpeed)})
	}
	return s
}

// Speed is a head speed that the person wants.
type Speed struct {
	Name string
	// Head in rad/s, above 0.
	Head float64
}

// Governor is what is known of the governor's own settings, at the engine, in
// rad/s.
type Governor struct {
	// Step between neighbouring speed settings; settings are its multiples. 0
	// is stepless.
	Step float64
	// Low and High are the slowest and fastest settings; a High of 0 is no
	// limit.
	Low, High float64
	// SelectLow and SelectHigh are the pulse widths on the select line, in s,
	// that ask for Low and High; both 0 are unknown.
	SelectLow, SelectHigh float64
	// PulsesPerTurn is what the governor is told about the pickup, 1 or more.
	PulsesPerTurn int
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
		return fmt.Errorf("sheet: %w", err)
	}
	if len(s.Stages) == 0 {
		return fmt.Errorf("sheet: %w", drive.ErrNoStages)
	}
	if len(s.Speeds) == 0 {
		return errors.New("sheet: no head speed is wanted")
	}
	for _, speed := range s.Speeds {
		if !(speed.Head > 0 && speed.Head < 2000) {
			return fmt.Errorf("sheet: head speed %q cannot be %g rad/s", speed.Name, speed.Head)
		}
	}
	if g := s.Governor; g.Step < 0 || g.Low < 0 || g.High < 0 || g.PulsesPerTurn < 1 {
		return fmt.Errorf("sheet: governor facts cannot be %+v", g)
	}
	return nil
}
