package rig

import (
	"context"
	"errors"
	"io"
	"os"

	"govrig/protocol"
	"govrig/protocol/frame"
)

// Errors of asking who is there.
var (
	// ErrNoAnswer is a port on which nothing answers as a rig.
	ErrNoAnswer = errors.New("nothing on this port answers as a rig board: " +
		"is it the right port, and has the firmware been written to the board?")
	// ErrForeign is a port on which something else talks.
	ErrForeign = errors.New("something else talks on this port: it is another device's, " +
		"or the board runs another program (govrig flash writes the firmware)")
)

// openTries is how often a session asks who is there; after quietTries of them the
// board is hailed as well.
const openTries, quietTries = 5, 2

// askedReads is how many times conn's patience an answer is waited for. A boot
// loader that runs after a restart may be started over by every byte it gets; it
// must be left alone for longer than the second that it waits.
const askedReads = 3

// Greet asks the board at the far end of conn who it is, so many times at
// most. A board that listens at the other speed is made to change over; nothing
// else is changed on it. The time for an answer is three of conn's read
// time-outs. Beside errors of conn it gives ErrNoAnswer, ErrForeign, or a
// *protocol.VersionError.
func Greet(ctx context.Context, conn io.ReadWriter, tries int) (protocol.Identity, error) {
	heard := &ear{source: conn}
	w := frame.NewWriter(conn)
	if err := w.Hail(); err != nil {
		return protocol.Identity{}, err
	}
	return greet(ctx, heard, frame.NewReader(heard), w, tries)
}

// ear counts the bytes that come in, and listens no longer than a context lasts,
// be it that bytes come without end.
type ear struct {
	source io.Reader
	ctx    context.Context // of the present wait for a message
	bytes  int
}

func (e *ear) Read(p []byte) (int, error) {
	if err := e.ctx.Err(); err != nil {
		return 0, err
	}
	n, err := e.source.Read(p)
	e.bytes += n
	return n, err
}

func greet(ctx context.Context, heard *ear, r *frame.Reader, w *frame.Writer, tries int) (protocol.Identity, error) {
	before := 0
	heard.ctx = ctx
	for n := range tries {
		before = heard.bytes
		if n >= quietTries {
			if err := w.Hail(); err != nil {
				return protocol.Identity{}, err
			}
		}
		message, err := ask(ctx, r, w)
		switch {
		case errors.Is(err, os.ErrDeadlineExceeded):
		case errors.Is(err, frame.ErrNoFrames):
			return protocol.Identity{}, ErrForeign
		case err != nil:
			return protocol.Identity{}, err
		default:
			return read(message)
		}
	}
	// What came earlier may be a boot loader's, and is no reason.
	if heard.bytes > before {
		return protocol.Identity{}, ErrForeign
	}
	return protocol.Identity{}, ErrNoAnswer
}

// ask sends Identify and waits for an Identity.
func ask(ctx context.Context, r *frame.Reader, w *frame.Writer) ([]byte, error) {
	if err := w.Sync(); err != nil {
		return nil, err
	}
	question := protocol.Identify{Protocol: protocol.Version}
	if err := w.Write(question.AppendTo(nil)); err != nil {
		return nil, err
	}
	for range askedReads - 1 {
		message, err := await(ctx, r, protocol.IdentityID)
		if !errors.Is(err, os.ErrDeadlineExceeded) {
			return message, err
		}
	}
	return await(ctx, r, protocol.IdentityID)
}

func read(message []byte) (id protocol.Identity, err error) {
	if err := protocol.CheckVersion(message); err != nil {
		return id, err
	}
	return id, id.Parse(message)
}

// skippedFrames is how many messages of other kinds await lets pass.
const skippedFrames = 2_000

// await reads until a message with the given id comes.
func await(ctx context.Context, r *frame.Reader, id byte) ([]byte, error) {
	for range skippedFrames {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		message, err := r.Read()
		if err != nil {
			return nil, err
		}
		if message[0] == id {
			return message, nil
		}
	}
	return nil, os.ErrDeadlineExceeded
}
