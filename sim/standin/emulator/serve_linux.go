package emulator

import (
	"context"
	"fmt"

	"govrig/protocol"
	"govrig/protocol/frame"
)

// sliceTicks is how much board time passes between two looks at the port.
const sliceTicks = TickHz / 1000

// Serve opens a board and serves it until the context ends.
func Serve(ctx context.Context, options Options, ready func(path string)) error {
	b, err := Open(options)
	if err != nil {
		return err
	}
	defer b.Close()
	return b.Serve(ctx, ready)
}

// Serve runs the board in step with wall time behind a pseudo-terminal, so that
// a program can open it as it would a real board's port. Once it can be opened,
// ready is told its path. Serve ends with nil when the context does. The board
// may be rewired meanwhile.
//
// A host may come and go; the board is not restarted when one comes. While
// there is none, and when one does not read, what the board sends is lost, as
// on a real port.
func (b *Board) Serve(ctx context.Context, ready func(path string)) error {
	port, path, err := openPort()
	if err != nil {
		return fmt.Errorf("cannot open a pseudo-terminal: %w", err)
	}
	defer port.Close()
	ready(path)
	return b.serve(ctx, port)
}

// serve runs the board with its wire on a port until the context ends.
func (b *Board) serve(ctx context.Context, port *port) error {
	// The host gets no more onto the wire than the wire carries in a slice.
	in := make([]byte, sliceTicks*256/(10*int64(bitTime(protocol.BaudFast))))
	var out backlog
	pace := newPace()
	var host listener
	asked := false // a frame has just gone to the host, which will answer it
	for tick := b.Now() + sliceTicks; ; tick += sliceTicks {
		if asked {
			if err := port.await(b.options.Patience); err != nil {
				return fmt.Errorf("pseudo-terminal: %w", err)
			}
		}
		baud := port.speed()
		if err := b.SetBaud(baud); err != nil {
			return err
		}
		n, err := port.receive(in[:sliceTicks*256/(10*int64(bitTime(baud)))])
		if err != nil {
			return fmt.Errorf("pseudo-terminal: %w", err)
		}
		host.hear(in[:n])
		if _, err = b.Write(b.fromHost(in[:n])); err != nil {
			return err
		}
		if err = b.RunUntil(tick); err != nil {
			return err
		}
		sent := b.toHost(b.takeUnread())
		asked = host.asked(sent) && host.drives
		out.add(sent)
		n, err = port.send(out)
		if err != nil {
			return fmt.Errorf("pseudo-terminal: %w", err)
		}
		out.drop(n)
		if pace.until(ctx, tick) != nil {
			return nil
		}
	}
}

// fromHost gives what reaches the board of what the host has sent so far.
func (b *Board) fromHost(sent []byte) []byte {
	way := b.options.Bridge
	if way == nil {
		return sent
	}
	if len(sent) > 0 {
		way.FromHost(b.Now(), sent)
	}
	return way.ToBoard(b.Now())
}

// toHost gives what reaches the host of what the board has sent so far.
func (b *Board) toHost(sent []byte) []byte {
	way := b.options.Bridge
	if way == nil {
		return sent
	}
	for _, c := range sent {
		way.FromBoard(b.Now(), c)
	}
	return way.ToHost(b.Now())
}

// listener hears whether the host is in a loop, in which it answers every frame.
type listener struct {
	decoder, board frame.Decoder
	drives         bool // its newest message is a Drive
}

// asked reports whether there is telemetry in what the board has sent.
func (l *listener) asked(sent []byte) (telemetry bool) {
	for _, c := range sent {
		if message, ok := l.board.Next(c); ok && message[0] == protocol.TelemetryID {
			telemetry = true
		}
	}
	return telemetry
}

func (l *listener) hear(sent []byte) {
	for _, c := range sent {
		if message, ok := l.decoder.Next(c); ok {
			l.drives = message[0] == protocol.DriveID
		}
	}
}

// takeUnread gives what the board has sent and Read has not had.
func (b *Board) takeUnread() []byte {
	b.mu.Lock()
	defer b.mu.Unlock()
	sent := b.unread
	b.unread = nil
	return sent
}

// backlogMax is how many bytes wait for a host that does not read.
const backlogMax = 1 << 16

// backlog holds bytes on their way to the host.
type backlog []byte

// add takes bytes in. What does not fit is lost.
func (q *backlog) add(p []byte) {
	*q = append(*q, p[:min(len(p), backlogMax-len(*q))]...)
}

// drop forgets the first n bytes.
func (q *backlog) drop(n int) {
	*q = append((*q)[:0], (*q)[n:]...)
}
