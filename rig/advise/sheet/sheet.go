package sheet

import (
	"errors"
	"io"
	"math"

	"govrig/rig/advise/predict"
	"govrig/sim/drive"
	"govrig/sim/words"
)

// Schema names the JSON document that a Sheet marshals to.
const Schema = "govrig/sheet/1"

// Sheet is the set-up sheet. Every number is worked out, none is measured.
type Sheet struct {
	Schema  string `json:"schema"`
	Machine string `json:"machine"`
	Gears   Gears  `json:"gears"`
	// GreatestHeadRPM is what the blade maker allows; 0 is unknown.
	GreatestHeadRPM float64 `json:"greatest_head_rpm"`
	// HighestHeadRPM is what the governor's highest setting turns the head at.
	HighestHeadRPM float64 `json:"highest_settable_head_rpm"`
	// Speeds are in the order of the Setup.
	Speeds []SpeedRow `json:"speeds"`
	// Select is how the governor is asked for a speed: none, steps or
	// continuous.
	Select   string   `json:"select"`
	Throttle Throttle `json:"throttle"`
	// ServoFramesHz is the most pulses a second that the throttle servo is made
	// for, GovernorFramesHz what the governor's paper says it sends; 0 is
	// unknown.
	ServoFramesHz    float64 `json:"servo_frames_hz"`
	GovernorFramesHz float64 `json:"governor_frames_hz"`
	// Transmitter is null when the machine file has none.
	Transmitter *Transmitter `json:"transmitter"`
	Pickup      PickupPart   `json:"pickup"`
	Board       BoardPart    `json:"board"`
	// Changes are what to change on the machine, the most pressing first.
	Changes []string `json:"changes"`
	// Cautions are what can hurt.
	Cautions []string `json:"cautions"`
	// Start is what to expect of a known governor; null without one.
	Start *predict.Start `json:"with_governor,omitempty"`
	// Assumed are values that the machine file leaves out.
	Assumed []string `json:"assumed"`
}

// Gears is the way from the engine to the head.
type Gears struct {
	// DrivenTeeth and DrivingTeeth are products over the stages.
	DrivenTeeth  int64 `json:"driven_teeth_product"`
	DrivingTeeth int64 `json:"driving_teeth_product"`
	Stages       int   `json:"stages"`
	// Ratio is engine turns for one turn of the head.
	Ratio float64 `json:"engine_turns_per_head_turn"`
	// ByRatio is set when the machine file gives a ratio in place of teeth; the
	// products are then whole numbers in that ratio.
	ByRatio bool `json:"given_as_ratio"`
}

// BoardPart is what the rig's board can play.
type BoardPart struct {
	TickNS       float64 `json:"tick_ns"`
	MinPerSecond float64 `json:"min_pulses_per_s"`
	MaxPerSecond float64 `json:"max_pulses_per_s"`
	MinWidthUS   float64 `json:"min_pulse_width_us"`
	MinGapUS     float64 `json:"min_time_between_pulses_us"`
	// PlaysAll is set when no speed has a BoardProblem.
	PlaysAll bool `json:"plays_all_speeds"`
}

// New works out the sheet. The error is that of Setup.Validate, linkage.New or
// pickup.Predict.
func New(s Setup) (*Sheet, error) {
	if err := s.Validate(); err != nil {
		return nil, err
	}
	magnets, err := newPickup(s.Pickup, s.Governor.PulsesPerTurn)
	throttle, fault := newThrottle(s.Linkage)
	if err := errors.Join(err, fault); err != nil {
		return nil, err
	}
	driven, driver := drive.Teeth(s.Stages)
	sheet := &Sheet{
		Schema:        Schema,
		Machine:       s.Machine,
		Gears:         Gears{driven, driver, len(s.Stages), drive.NewTrain(s.Stages).Ratio, s.ByRatio},
		Throttle:      throttle,
		Pickup:        magnets,
		Select:        string(s.Governor.Select),
		ServoFramesHz: s.ServoFrames,
		Transmitter:   newTransmitter(s.Transmitter),
		Board:         newBoard(s.Board),
	}
	width := 0.0
	if magnets.fits(s.Governor.PulsesPerTurn) {
		width = magnets.WidthPercent / 100
	}
	chain := Chain{driven, driver, s.Governor.PulsesPerTurn}
	for _, speed := range s.Speeds {
		row := speedRow(s, chain, width, speed)
		sheet.Speeds = append(sheet.Speeds, row)
		sheet.Board.PlaysAll = sheet.Board.PlaysAll && row.BoardProblem == ""
	}
	if rate := s.Governor.FrameRate; rate != nil {
		sheet.GovernorFramesHz = float64(*rate)
	}
	sheet.GreatestHeadRPM = s.GreatestHead * 30 / math.Pi
	sheet.HighestHeadRPM = float(ratRPM(float64(s.Governor.SpeedHigh))) / sheet.Gears.Ratio
	sheet.Assumed = append([]string{}, s.Assumed...)
	sheet.Changes = sheet.changes()
	sheet.Cautions = sheet.cautions(s)
	return sheet, nil
}

func newBoard(b Board) BoardPart {
	return BoardPart{
		TickNS:       1e9 * b.Tick,
		MinPerSecond: 1 / b.MaxPeriod,
		MaxPerSecond: 1 / b.MinPeriod,
		MinWidthUS:   1e6 * b.MinWidth,
		MinGapUS:     1e6 * b.MinGap,
		PlaysAll:     true,
	}
}

// WriteJSON writes the sheet as one indented document.
func (s *Sheet) WriteJSON(w io.Writer) error {
	return words.JSON(w, s)
}
