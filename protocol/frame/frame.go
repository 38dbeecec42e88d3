// Package frame carries messages over a stream of bytes.
//
// A frame is the message followed by its CRC-16 (high byte first), both
// byte-stuffed so that they hold no zero, then one zero byte. A receiver that
// joins late, or loses bytes, is in step again after the next zero. Everything
// that is dropped is counted.
package frame

import (
	"errors"
	"fmt"
	"io"

	"govrig/protocol"
)

// Losses counts what a receiver dropped since it was made.
type Losses struct {
	Check uint64 // frames whose check was wrong
	Form  uint64 // frames that ended inside a block, or were shorter than a check
	Long  uint64 // frames longer than any message
}

// Total is the number of frames dropped for any reason.
func (l Losses) Total() uint64 { return l.Check + l.Form + l.Long }

// Append appends message as one frame to dst. The message may not be longer
// than protocol.MaxPayload.
func Append(dst, message []byte) []byte {
	if len(message) > protocol.MaxPayload {
		panic(fmt.Sprintf("a message of %d bytes", len(message)))
	}
	var checked [protocol.MaxPayload + 2]byte
	n := copy(checked[:], message)
	crc := CRC(message)
	checked[n], checked[n+1] = byte(crc>>8), byte(crc)
	return append(AppendCOBS(dst, checked[:n+2]), 0)
}

// Decoder finds frames in a stream of bytes.
type Decoder struct {
	// Losses counts what was dropped so far.
	Losses Losses

	stuffed unstuffer
	buf     [protocol.MaxPayload + 2]byte
	n       int
	any     bool // a byte came since the last zero
	long    bool
}

// Next takes one byte of the stream. When it completes a good frame, it gives
// the message, which is valid until the next call.
func (d *Decoder) Next(c byte) (message []byte, ok bool) {
	if c == 0 {
		return d.end()
	}
	d.any = true
	data, some := d.stuffed.next(c)
	switch {
	case !some:
	case d.n == len(d.buf):
		d.long = true
	default:
		d.buf[d.n] = data
		d.n++
	}
	return nil, false
}

func (d *Decoder) end() (message []byte, ok bool) {
	b := d.buf[:d.n]
	switch {
	case !d.any: // two zeros in a row: nothing was lost
	case d.long:
		d.Losses.Long++
	case d.stuffed.left > 0 || len(b) < 3:
		d.Losses.Form++
	case CRC(b) != 0:
		d.Losses.Check++
	default:
		message, ok = b[:len(b)-2], true
	}
	d.stuffed, d.n, d.any, d.long = unstuffer{}, 0, false, false
	return message, ok
}

// ErrNoProgress is a source that gave neither bytes nor an error many times in
// a row.
var ErrNoProgress = errors.New("the port gives neither bytes nor an error")

// ErrNoFrames is a source that gives bytes without end, but no message.
var ErrNoFrames = errors.New("bytes come in on the port, but no messages: " +
	"another speed, another program on the board, or a cable that picks up noise")

// noiseMax is how many bytes without a message a Reader puts up with. It is
// two thirds of a second at 500 kbaud.
const noiseMax = 1 << 15

// Reader reads frames from a stream.
type Reader struct {
	Decoder
	source io.Reader
	buf    [512]byte
	unread []byte
}

// NewReader gives a Reader of source.
func NewReader(source io.Reader) *Reader { return &Reader{source: source} }

// Read gives the next message; it is valid until the next call. Damaged frames
// are skipped and counted. An error is the source's own, unchanged, or
// ErrNoProgress or ErrNoFrames, so that no source can hold the caller for good.
func (r *Reader) Read() ([]byte, error) {
	empty, noise := 0, 0
	for {
		for i, c := range r.unread {
			if message, ok := r.Next(c); ok {
				r.unread = r.unread[i+1:]
				return message, nil
			}
		}
		if noise += len(r.unread); noise > noiseMax {
			r.unread = nil
			return nil, ErrNoFrames
		}
		n, err := r.source.Read(r.buf[:])
		r.unread = r.buf[:n]
		if n > 0 {
			empty = 0
			continue
		}
		if err != nil {
			return nil, err
		}
		if empty++; empty == 100 {
			return nil, ErrNoProgress
		}
	}
}

// Writer writes frames to a stream.
type Writer struct {
	sink io.Writer
	buf  []byte
}

// NewWriter gives a Writer to sink.
func NewWriter(sink io.Writer) *Writer { return &Writer{sink: sink} }

// Write sends message as one frame with a single call of the sink's Write.
func (w *Writer) Write(message []byte) error {
	w.buf = Append(w.buf[:0], message)
	_, err := w.sink.Write(w.buf)
	return err
}

// Hail sends zero bytes, so that a board that listens at another speed than that
// of the wire, and is in no session, changes over.
func (w *Writer) Hail() error {
	_, err := w.sink.Write(make([]byte, protocol.BaudHail))
	return err
}

// Sync sends a zero byte, so that whatever the far end had half received ends
// here.
func (w *Writer) Sync() error {
	_, err := w.sink.Write([]byte{0})
	return err
}
