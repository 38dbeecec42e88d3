package runlog

import (
	"math"
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

var powers = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8}
