package link

import (
	"context"

	"govrig/protocol"
	"govrig/rig"
)

// Connect opens the port at path and finds the speed at which its board is to be
// used; see rig.Connect. A baud other than 0 is the speed, without a trial.
func Connect(ctx context.Context, path string, baud int) (*Port, rig.Connection, error) {
	devices, _ := Devices(ctx) // a port that is not listed is known by its path
	d := Named(devices, path)
	port, err := Open(ctx, path, protocol.BaudFast)
	if err != nil {
		return nil, rig.Connection{}, err
	}
	return settle(ctx, port, d, baud, memoryFile())
}

// settle finds the speed for an open port, which it closes on an error. It is
// remembered with the board used last, if it is that one's.
func settle(ctx context.Context, port *Port, d Device, baud int, file string) (*Port, rig.Connection, error) {
	last := recall(file)
	c, err := rig.Connect(ctx, port, Clock(), last.speeds(d, baud)...)
	if err != nil {
		_ = port.Close() // the reason for the failure is known already
		return nil, c, err
	}
	if last.is(d) {
		remember(file, d, c.Baud)
	}
	return port, c, nil
}

// speeds are those to try on d: the one asked for alone, or all, but first the
// one at which it was used last.
func (m memory) speeds(d Device, baud int) []int {
	switch {
	case baud != 0:
		return []int{baud}
	case m.is(d) && m.Baud == protocol.BaudSlow:
		return []int{protocol.BaudSlow, protocol.BaudFast}
	}
	return rig.Speeds[:]
}
