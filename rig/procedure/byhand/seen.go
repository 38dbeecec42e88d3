package byhand

import (
	"math"

	"govrig/rig/execution"
	"govrig/rig/runlog"
	"govrig/sim/linkage"
	"govrig/sim/machine"
)

// Seen is what there is to see at a moment of the room.
type Seen struct {
	// Stick and Select are the widths that are played, µs; 0 is none.
	Stick  float64 `json:"stick_us"`
	Select float64 `json:"select_us"`
	// Engine is the speed that the pickup pulses tell, rpm, Head that of the
	// simulated head, Pulses how many there are a second.
	Engine float64 `json:"engine_rpm"`
	Head   float64 `json:"head_rpm"`
	Pulses float64 `json:"pulses_per_s"`
	// Throttle is the governor's pulse, µs; 0 is none yet. Travel is where it stands
	// between the servo's ends, closed to open, and Barrel how far the carburettor is
	// open by the machine's linkage, both in %.
	Throttle float64 `json:"throttle_us"`
	Travel   float64 `json:"travel_percent"`
	Barrel   float64 `json:"barrel_percent"`
}

// Eye makes of the samples of a run what there is to see.
type Eye struct {
	m    *machine.Machine
	bars *linkage.Linkage
}

// NewEye is for the runs of a machine.
func NewEye(m *machine.Machine) (*Eye, error) {
	bars, err := linkage.New(m.LinkageParams())
	return &Eye{m, bars}, err
}

// See looks at a sample.
func (e *Eye) See(s *runlog.Sample) Seen {
	seen := Seen{
		Stick: 1e6 * s.Stick.Seconds(), Select: 1e6 * s.Select.Seconds(),
		Engine: s.Played * execution.RPM, Head: s.State.HeadSpeed * execution.RPM,
		Pulses:   s.Played / (2 * math.Pi) * float64(e.m.Governor.PulsesPerTurn),
		Throttle: 1e6 * s.Throttle,
	}
	if s.Throttle > 0 {
		closed, open := float64(e.m.Servo.ClosedPulse), float64(e.m.Servo.OpenPulse)
		travel := (s.Throttle - closed) / (open - closed)
		share, _, _ := e.bars.Opening(max(-1, min(1, 2*travel-1))) // New has checked the travel
		seen.Travel, seen.Barrel = 100*travel, 100*share
	}
	return seen
}
