package rig

import (
	"context"
	"errors"
	"fmt"
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

// trialFrames are exchanged in a trial: half a second at full speed, 10 kB.
const trialFrames = 250

// Trial is what a short test of the wire gave.
type Trial struct {
	// Baud is the speed at which it was made; 0 when there was none.
	Baud int
	// Frames is how many telemetry frames came.
	Frames int64
	// Lost is how many messages were damaged or lost, either way.
	Lost int64
	// Err is why it did not come to its end.
	Err error
}

// Clean tells whether nothing was lost.
func (t *Trial) Clean() bool { return t.Lost == 0 && t.Err == nil }

func (t *Trial) String() string {
	if t.Err != nil && t.Lost == 0 {
		return fmt.Sprintf("at %d baud the board could not be talked to (%v)", t.Baud, t.Err)
	}
	return fmt.Sprintf("at %d baud %d of %d messages were damaged or lost", t.Baud, t.Lost, 2*trialFrames)
}

// Try tries how well the wire carries messages at its present speed. Meanwhile the
// board plays nothing on any line; at the end it is told to stop.
func Try(ctx context.Context, conn io.ReadWriter, baud int) Trial {
	t := Trial{Baud: baud}
	s, err := Open(ctx, kept{conn}, Settings{Baud: baud, Failsafe: time.Second})
	if err != nil {
		t.Err = err
		return t
	}
	t.Err = t.exchange(ctx, s)
	t.Lost += int64(s.Losses().Total())
	t.Err = errors.Join(t.Err, s.stop())
	return t
}

// kept is a connection that stays open.
type kept struct{ io.ReadWriter }

func (kept) Close() error { return nil }

// exchange answers telemetry with drives that play nothing.
func (t *Trial) exchange(ctx context.Context, s *Session) error {
	var m protocol.Telemetry
	var h Health
	var a answers
	for h.Frames < trialFrames {
		if err := ctx.Err(); err != nil {
			return err
		}
		message, err := s.reader.Read()
		if err != nil {
			return silent(err)
		}
		if m.Parse(message) != nil {
			continue
		}
		now := s.clock.Extend(m.Ticks)
		a.frame(&m, now, uint8(h.Frames), &h)
		if err := s.send(&protocol.Drive{Sequence: uint8(h.Frames)}); err != nil {
			return err
		}
	}
	t.Frames, t.Lost = h.Frames, h.Lost()
	return nil
}

// Connection is how a board is connected.
type Connection struct {
	// Identity is who it is.
	Identity protocol.Identity
	// Baud is the speed of the wire.
	Baud int
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

// Connect asks at each of the given speeds, from the first down, who is there,
// until a board answers and loses nothing in a trial. The last speed is taken
// without one. When no board answers, the error is that of Identify at the first.
func Connect(ctx context.Context, wire Wire, speeds ...int) (Connection, error) {
	var best Connection
	var failed []Trial
	present := 0
	for i, baud := range speeds {
		present = baud
		id, err := IdentifyAt(ctx, wire, baud, i == 0)
		if Unanswered(err) {
			failed = append(failed, Trial{Baud: baud, Err: err})
			continue
		}
		if err != nil {
			return Connection{Baud: baud}, err
		}
		best = Connection{Identity: id, Baud: baud}
		if i == len(speeds)-1 {
			break
		}
		trial := Try(ctx, wire, baud)
		if trial.Clean() {
			break
		}
		failed = append(failed, trial)
	}
	switch {
	case ctx.Err() != nil:
		return best, ctx.Err()
	case best.Baud == 0:
		return best, failed[0].Err
	case best.Baud != present: // the slower one was worse
		_, err := IdentifyAt(ctx, wire, best.Baud, false)
		return best, err
	case len(failed) > 0 && failed[0].Baud > best.Baud:
		best.Slowed = failed[0]
	}
	return best, nil
}

// Unanswered tells whether an error of Identify is that no rig board answered.
func Unanswered(err error) bool { return errors.Is(err, ErrNoAnswer) || errors.Is(err, ErrForeign) }

// IdentifyAt sets the speed of the wire and asks who is there. A board whose port
// has just been opened may have been restarted by that, and needs more time.
func IdentifyAt(ctx context.Context, wire Wire, baud int, opened bool) (protocol.Identity, error) {
	tries := 1
	if opened {
		tries = 3
	}
	if err := wire.SetBaud(baud); err != nil {
		return protocol.Identity{}, err
	}
	return Identify(ctx, wire, tries)
}
