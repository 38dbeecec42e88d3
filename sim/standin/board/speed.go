package board

import (
	"fmt"

	"govrig/protocol"
)

// speed is the time of a byte at either end of the wire, in ticks.
type speed struct {
	host, board int64
	strange     int64 // ticks of bytes at another speed since the last change
}

func byteTicks(baud int) int64 { return int64(10 * TickHz / baud) }

func newSpeed(baud int) speed {
	if baud == 0 {
		baud = protocol.BaudFast
	}
	return speed{host: byteTicks(baud), board: byteTicks(protocol.BaudFast)}
}

func (s *speed) same() bool { return s.host == s.board }

// hear spoils what comes to a host at another speed: no frame comes of it.
func (s *speed) hear(sent []byte) {
	if s.same() {
		return
	}
	for i := range sent {
		sent[i] |= 0x80
	}
}

// SetBaud changes the speed of the host's end of the wire.
func (b *Board) SetBaud(baud int) error {
	if baud != protocol.BaudFast && baud != protocol.BaudSlow {
		return fmt.Errorf("no speed of the firmware's: %d baud", baud)
	}
	b.speed.host = byteTicks(baud)
	return nil
}

// strangeBytes of its own length make the board change its speed, outside a
// session.
const strangeBytes = protocol.MaxPayload + 8

// strange takes in a byte at another speed than the board's.
func (b *Board) strange() {
	s := &b.speed
	if b.session.telemetry != never && b.session.flags&protocol.TelemetryFailsafe == 0 {
		return
	}
	if s.strange += s.host; s.strange > strangeBytes*s.board {
		s.board, s.strange = s.host, 0
	}
}
