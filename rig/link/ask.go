package link

import (
	"context"
	"errors"
	"sync"

	"govrig/protocol"
	"govrig/rig"
)

// Answer is what came of asking on one port who is there.
type Answer struct {
	Device
	// Baud is the speed at which it answered; 0 when it did not.
	Baud int
	// Identity is who it is, when Err is nil.
	Identity protocol.Identity
	// Boot is the speed at which a boot loader answered in place of a rig
	// board; 0 when none did.
	Boot int
	// Err is why it is not known to be a rig board: an *OpenError,
	// rig.ErrNoAnswer, rig.ErrForeign, a *protocol.VersionError, ErrHangUp.
	Err error
}

// Ask asks on the port of d who is there. That restarts most boards and takes
// up to six seconds, and three more when it looks for a boot loader.
func Ask(ctx context.Context, d Device) Answer {
	port, a := ask(ctx, d)
	if port != nil {
		a.Err = port.Close()
		return a
	}
	if errors.Is(a.Err, rig.ErrNoAnswer) {
		a.Boot = BootSpeed(ctx, d.Path)
	}
	return a
}

// AskAll asks on all ports at once, and gives the answers in their order.
func AskAll(ctx context.Context, devices []Device) []Answer {
	answers := make([]Answer, len(devices))
	var all sync.WaitGroup
	for i, d := range devices {
		all.Go(func() { answers[i] = Ask(ctx, d) })
	}
	all.Wait()
	return answers
}

// ask gives the open port when a rig board of this version answers on it.
func ask(ctx context.Context, d Device) (*Port, Answer) {
	a := Answer{Device: d}
	var port *Port
	if port, a.Err = Open(ctx, d.Path, protocol.BaudFast); a.Err != nil {
		return nil, a
	}
	for i, baud := range rig.Speeds {
		a.Baud = baud
		if a.Identity, a.Err = rig.GreetAt(ctx, port, baud, i == 0); !rig.Unanswered(a.Err) {
			break
		}
	}
	if rig.Unanswered(a.Err) {
		a.Baud = 0
	}
	if a.Err != nil {
		_ = port.Close() // the reason for the failure is known already
		return nil, a
	}
	return port, a
}
