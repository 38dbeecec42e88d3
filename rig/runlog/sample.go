package runlog

import (
	"math"
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

const (
	rpm     = 60 / (2 * math.Pi) // from rad/s
	degrees = 180 / math.Pi      // from rad
)

// column is one column of samples.csv, with the decimals it is written to.
// Eight of a second tell ticks of 62.5 ns apart.
type column struct {
	name   string
	digits int
}

var columns = [...]column{
	{"time_s", 8}, {"speed_rpm", 2}, {"played_rpm", 2}, {"head_rpm", 3}, {"throttle_us", 2},
	{"opening_percent", 3}, {"torque_nm", 5}, {"load_nm", 5}, {"collective_deg", 3},
	{"stick_us", 1}, {"select_us", 1}, {"phase", 0},
}

// header is the first line of samples.csv.
var header = func() (line string) {
	for i, c := range columns {
		if i > 0 {
			line += ","
		}
		line += c.name
	}
	return line + "\n"
}()

// appendCSV appends the sample as one line. base is added to its phase.
func (s *Sample) appendCSV(b []byte, tickRate float64, base int) []byte {
	values := [len(columns)]float64{
		float64(s.Ticks) / tickRate,
		s.State.EngineSpeed * rpm, s.Played * rpm, s.State.HeadSpeed * rpm, s.Throttle * 1e6,
		s.State.Opening * 100, s.State.EngineTorque, s.State.LoadTorque, s.Collective * degrees,
		float64(s.Stick) / 1e3, float64(s.Select) / 1e3, float64(s.Phase + base),
	}
	for i, v := range values {
		b = append(appendFixed(b, v, columns[i].digits), ',')
	}
	b[len(b)-1] = '\n'
	return b
}

var powers = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8}

// appendFixed writes v with so many decimals. It is several times as fast as
// strconv, which for this form works digit by digit.
func appendFixed(b []byte, v float64, digits int) []byte {
	scaled := math.Round(v * powers[digits])
	if !(math.Abs(scaled) < 1e18) {
		return strconv.AppendFloat(b, v, 'f', digits, 64)
	}
	n := int64(scaled)
	if n < 0 {
		b = append(b, '-')
		n = -n
	}
	unit := int64(powers[digits])
	b = strconv.AppendInt(b, n/unit, 10)
	if digits == 0 {
		return b
	}
	b = append(b, '.')
	for rest := n % unit; unit > 1; rest %= unit {
		unit /= 10
		b = append(b, byte('0'+rest/unit))
	}
	return b
}
