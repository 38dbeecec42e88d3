// Package replay runs a recorded run again: the procedure of today, on a board
// that is the record.
//
// The board gives what the recorded one gave, at the same moments, and
// compares what the host writes with what it wrote then. The host's clock, the
// person's answers and the moment at which the run was stopped come from the
// record too, so that nothing else can make a difference; and since it is the
// procedure itself that runs, its measures are computed anew.
package replay

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"errors"
	"io"
	"os"
	"time"

	"govrig/protocol"
	"govrig/protocol/frame"
	"govrig/protocol/harmless"
	"govrig/rig/execution"
	"govrig/rig/runlog"
)

// ErrEnd is the end of a record before that of the run.
var ErrEnd = errors.New("the record ends here")

// Board is a record in a board's place. It is used from one goroutine.
type Board struct {
	wire   *runlog.WireReader
	entry  runlog.Entry   // the next
	err    error          // in place of the next; stays
	after  int64          // entries gone through
	unread []byte         // of the entry gone through last
	events []runlog.Event // answers and stops still to come
	stop   context.CancelFunc

	frames    frame.Decoder // of what the board sent
	telemetry int64         // frames given
	sent      int64         // messages that the host wrote as recorded
}

// NewBoard gives a board that plays rec. stop is called at the moment at which
// the run was stopped.
func NewBoard(rec *runlog.Record, stop context.CancelFunc) (*Board, error) {
	events, err := rec.Events()
	if err != nil {
		return nil, err
	}
	b := &Board{stop: stop}
	for _, e := range events {
		if e.Event == runlog.EventAnswer || e.Event == runlog.EventStop {
			b.events = append(b.events, e)
		}
	}
	if b.wire, err = rec.Wire(); err != nil {
		return nil, err
	}
	b.look()
	return b, nil
}

// look makes the next entry ready.
func (b *Board) look() {
	b.entry, b.err = b.wire.Next()
	if errors.Is(b.err, io.EOF) {
		b.err = ErrEnd
	}
	b.heed()
}

// heed stops the run at the moment at which it was stopped.
func (b *Board) heed() {
	if b.due() && b.events[0].Event == runlog.EventStop {
		b.stop()
	}
}

// due reports whether the next event has come.
func (b *Board) due() bool { return len(b.events) > 0 && b.after >= b.events[0].After }

// pass goes past the present entry, whose bytes are of no more use then.
func (b *Board) pass() {
	b.after++
	b.look()
}

// Read gives what the port gave.
func (b *Board) Read(p []byte) (int, error) {
	if len(b.unread) > 0 {
		return b.give(p), nil
	}
	if b.err != nil {
		return 0, b.err
	}
	switch b.entry.Kind {
	case runlog.FromBoard:
		b.count(b.entry.Bytes)
		b.unread = append(b.unread, b.entry.Bytes...)
		b.pass()
		return b.give(p), nil
	case runlog.ReadFailed:
		err := os.ErrDeadlineExceeded
		if why := harmless.Line(string(b.entry.Bytes)); why != "" {
			err = errors.New(why)
		}
		b.pass()
		return 0, err
	}
	return 0, b.differ("now the host waits for the board; in the record it " + b.recorded())
}

func (b *Board) give(p []byte) int {
	n := copy(p, b.unread)
	b.unread = b.unread[:copy(b.unread, b.unread[n:])]
	return n
}

// count counts the telemetry frames in what the board sent.
func (b *Board) count(sent []byte) {
	for _, c := range sent {
		if m, ok := b.frames.Next(c); ok && m[0] == protocol.TelemetryID {
			b.telemetry++
		}
	}
}

// Write takes what the host wrote then, and nothing else.
func (b *Board) Write(p []byte) (int, error) {
	if b.err != nil {
		return 0, b.err
	}
	switch {
	case b.entry.Kind == runlog.WriteFailed:
		err := errors.New(harmless.Line(string(b.entry.Bytes)))
		b.pass()
		return 0, err
	case b.entry.Kind != runlog.ToBoard:
		return 0, b.differ("now the host " + wrote(p) + "; in the record it " + b.recorded())
	case !bytes.Equal(b.entry.Bytes, p):
		return 0, b.differ(compare(b.entry.Bytes, p))
	}
	b.sent++
	b.pass()
	return len(p), nil
}

// Clock gives the host's time as it was read then.
func (b *Board) Clock() time.Duration {
	if b.err != nil {
		return 0
	}
	if b.entry.Kind != runlog.HostTime || len(b.entry.Bytes) != 8 {
		_ = b.differ("now the host looks at its clock; in the record it " + b.recorded())
		return 0
	}
	at := time.Duration(binary.LittleEndian.Uint64(b.entry.Bytes))
	b.pass()
	return at
}

// Recall gives the answer that the person gave at this moment.
func (b *Board) Recall(q execution.Question) (answer string, ok bool, err error) {
	if !b.due() {
		return "", false, b.err
	}
	if b.events[0].Event == runlog.EventStop {
		return "", false, context.Canceled
	}
	var a runlog.Answer
	if err := json.Unmarshal(b.events[0].Value, &a); err != nil {
		return "", false, err
	}
	if a.Key != q.Key {
		return "", false, b.differ("now the person is asked for " + q.Key + "; in the record for " + a.Key)
	}
	b.events = b.events[1:]
	b.heed()
	if a.Nobody {
		return a.Answer, true, execution.ErrNotAsked
	}
	return a.Answer, true, nil
}

// Close closes the record.
func (b *Board) Close() error { return b.wire.Close() }
