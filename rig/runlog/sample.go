package runlog

import (
	"strconv"
	"time"

	"govrig/sim"
)

// Sample is what is kept of each step of the loop.
type Sample struct {
	// Step is the index of the plant step that has been reached.
	Step int64
	// Ticks is the moment of the telemetry frame, from the start of the run.
	Ticks int64
	// State is the plant there.
	State sim.State
	// Played is the engine speed that the pickup pulses tell of, rad/s: the
	// plant's, but for a sway.
	Played float64
	// Throttle is the width of the newest pulse on the throttle line, s; 0
	// while none has come.
	Throttle float64
	// Collective is the load ordered, rad.
	Collective float64
	// Stick and Select are the widths ordered.
	Stick, Select time.Duration
	// Phase is the index of the script's phase.
	Phase int
}

// header names the columns of samples.csv.
const header = "time_s,speed_rpm,played_rpm,head_rpm,throttle_us,opening_percent,torque_nm,load_nm,collective_deg,stick_us,select_us,phase\n"

const (
	rpm     = 60 / (2 * 3.141592653589793) // from rad/s
	degrees = 180 / 3.141592653589793      // from rad
)

// appendCSV appends the sample as one line.
func (s *Sample) appendCSV(b []byte, tickRate float64) []byte {
	number := func(v float64, digits int) {
		b = strconv.AppendFloat(b, v, 'f', digits, 64)
		b = append(b, ',')
	}
	number(float64(s.Ticks)/tickRate, 6)
	number(s.State.EngineSpeed*rpm, 2)
	number(s.Played*rpm, 2)
	number(s.State.HeadSpeed*rpm, 3)
	number(s.Throttle*1e6, 2)
	number(s.State.Opening*100, 3)
	number(s.State.EngineTorque, 5)
	number(s.State.LoadTorque, 5)
	number(s.Collective*degrees, 3)
	number(float64(s.Stick)/1e3, 1)
	number(float64(s.Select)/1e3, 1)
	b = strconv.AppendInt(b, int64(s.Phase), 10)
	return append(b, '\n')
}
