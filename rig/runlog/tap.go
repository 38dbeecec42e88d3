package runlog

import (
	"encoding/binary"
	"errors"
	"io"
	"os"
	"time"
)

// Tap stands between a session and its port and keeps all that passes. What
// passes before there is a record waits for it.
type Tap struct {
	port    io.ReadWriteCloser
	record  *Writer
	early   entries // that wait
	decided bool
}

// NewTap gives a Tap on port.
func NewTap(port io.ReadWriteCloser) *Tap { return &Tap{port: port} }

// Keep puts what has passed and what will pass into record; nil forgets it.
func (t *Tap) Keep(record *Writer) {
	if !t.decided {
		record.early(&t.early)
	}
	t.record, t.early, t.decided = record, entries{}, true
}

// Read reads from the port. It gives either bytes or an error: one that comes
// with bytes is left for the next call.
func (t *Tap) Read(p []byte) (int, error) {
	n, err := t.port.Read(p)
	switch {
	case n > 0 || err == nil:
		t.keep(Entry{FromBoard, p[:n]})
		return n, nil
	case errors.Is(err, os.ErrDeadlineExceeded):
		t.keep(Entry{ReadFailed, nil})
	default:
		t.keep(Entry{ReadFailed, []byte(err.Error())})
	}
	return 0, err
}

// Write writes to the port.
func (t *Tap) Write(p []byte) (int, error) {
	n, err := t.port.Write(p)
	if err != nil {
		t.keep(Entry{WriteFailed, []byte(err.Error())})
		return n, err
	}
	t.keep(Entry{ToBoard, p})
	return n, nil
}

// HostTime keeps a reading of the host's clock.
func (t *Tap) HostTime(now time.Duration) {
	var b [8]byte
	binary.LittleEndian.PutUint64(b[:], uint64(now))
	t.keep(Entry{HostTime, b[:]})
}

// Close closes the port.
func (t *Tap) Close() error { return t.port.Close() }

func (t *Tap) keep(e Entry) {
	if t.decided {
		t.record.wire(e)
	} else {
		t.early.add(e)
	}
}
