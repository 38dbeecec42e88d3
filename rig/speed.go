package rig

import (
	"io"
	"time"

	"govrig/protocol"
)

// Speeds are the speeds of the wire that the firmware knows, the fastest first.
var Speeds = [...]int{protocol.BaudFast, protocol.BaudSlow}

// TelemetryPeriod is the time from one telemetry frame to the next that goes
// with a speed of the wire; 0 is the fast one. It holds the frame, the Drive
// that answers it, and a millisecond for the host.
func TelemetryPeriod(baud int) time.Duration {
	if baud == protocol.BaudSlow {
		return 3 * time.Millisecond
	}
	return 2 * time.Millisecond
}

// Wire is a way to a board whose speed can be changed.
type Wire interface {
	io.ReadWriteCloser
	SetBaud(baud int) error
}
