package rig

import (
	"context"
	"errors"
	"fmt"
	"time"

	"govrig/protocol"
)

// Connection is how a board is connected.
type Connection struct {
	// Identity is who it is.
	Identity protocol.Identity
	// Baud is the speed of the wire.
	Baud int
	// Trial is the trial at that speed; its Baud is 0 when there was none.
	Trial Trial
	// Slowed is the trial at full speed for which a lower speed was taken;
	// its Baud is 0 when there was none.
	Slowed Trial
}

// Sentence tells of a wire that has been slowed down; else it is empty.
func (c *Connection) Sentence() string {
	if c.Slowed.Baud == 0 {
		return ""
	}
	return fmt.Sprintf("The wire to the board was slowed down to %d baud: %s. The rig looks at the governor every %v in place of %v "+
		"and acts on it about 1 ms later; a short cable with a ferrite, or another port, may do better.",
		c.Baud, &c.Slowed, TelemetryPeriod(c.Baud), TelemetryPeriod(c.Slowed.Baud))
}

// Remarks say how the wire answers, and that a board is an emulated one.
func (c *Connection) Remarks() (sentences []string) {
	if how := c.Trial.Sentence(); how != "" {
		sentences = append(sentences, how)
	}
	if Emulated(&c.Identity) {
		sentences = append(sentences, "The board is an emulated one: its time may stand still until this computer answers, "+
			"so that its clock is not held against the computer's.")
	}
	return sentences
}

// Connect asks at each of the given speeds, from the first down, who is there,
// until a board answers and loses nothing in a trial. The last speed is taken
// even where something is lost. When no board answers, the error is that of
// Greet at the first; a board whose clock is wrong by the host's clock is a
// *WrongClockError. clock may be nil, for a board in lockstep.
func Connect(ctx context.Context, wire Wire, clock func() time.Duration, speeds ...int) (Connection, error) {
	var best Connection
	var failed []Trial
	present := 0
	for i, baud := range speeds {
		present = baud
		id, err := GreetAt(ctx, wire, baud, i == 0)
		if Unanswered(err) {
			failed = append(failed, Trial{Baud: baud, Err: err})
			continue
		}
		if err != nil {
			return Connection{Baud: baud}, err
		}
		best = Connection{Identity: id, Baud: baud, Trial: Try(ctx, wire, clock, baud)}
		var wrong *WrongClockError
		if errors.As(best.Trial.Err, &wrong) {
			return best, wrong
		}
		if best.Trial.Clean() {
			break
		}
		if i < len(speeds)-1 {
			failed = append(failed, best.Trial)
		}
	}
	switch {
	case ctx.Err() != nil:
		return best, ctx.Err()
	case best.Baud == 0:
		return best, failed[0].Err
	case best.Baud != present: // the slower one was worse
		_, err := GreetAt(ctx, wire, best.Baud, false)
		return best, err
	case len(failed) > 0 && failed[0].Baud > best.Baud:
		best.Slowed = failed[0]
	}
	return best, nil
}

// Unanswered reports whether an error of Greet is that no rig board answered.
func Unanswered(err error) bool { return errors.Is(err, ErrNoAnswer) || errors.Is(err, ErrForeign) }

// GreetAt sets the speed of the wire and asks who is there. A board whose port
// has just been opened may have been restarted by that, and needs more time.
func GreetAt(ctx context.Context, wire Wire, baud int, opened bool) (protocol.Identity, error) {
	tries := 1
	if opened {
		tries = 3
	}
	if err := wire.SetBaud(baud); err != nil {
		return protocol.Identity{}, err
	}
	return Greet(ctx, wire, tries)
}
