package runlog

import (
	"bufio"
	"encoding/binary"
	"io"
	"math"

	"govrig/protocol/frame"
)

// Kind is what an entry of wire.bin holds.
type Kind byte

// Kinds of entry.
const (
	FromBoard   Kind = '<' // bytes as they were read from the port
	ToBoard     Kind = '>' // bytes as they were written to the port
	HostTime    Kind = 't' // the host's clock, as it was read: ns, 8 bytes
	ReadFailed  Kind = 'r' // a read that failed: why; nothing when it timed out
	WriteFailed Kind = 'w' // a write that failed: why
)

// Entry is one thing that passed between host and port.
type Entry struct {
	Kind  Kind
	Bytes []byte
}

const (
	headSize  = 1 + 2 // the kind, and the length of the bytes behind it
	checkSize = 2     // behind them, over all that
)

// size is the length in wire.bin of the entry that begins with head.
func size(head []byte) int {
	return headSize + int(binary.LittleEndian.Uint16(head[1:])) + checkSize
}

// append writes the entry: kind, length (little endian), bytes, and the check
// of all of these that the wire uses too (little endian).
func (e Entry) append(b []byte) []byte {
	start := len(b)
	bytes := e.Bytes[:min(len(e.Bytes), math.MaxUint16)]
	b = append(b, byte(e.Kind))
	b = binary.LittleEndian.AppendUint16(b, uint16(len(bytes)))
	b = append(b, bytes...)
	return binary.LittleEndian.AppendUint16(b, frame.CRC(b[start:]))
}

// WireReader reads wire.bin entry by entry.
type WireReader struct {
	// Torn is how many bytes at the end, from the first entry on that is not
	// whole, could not be read. It is known once Next has given io.EOF.
	Torn int64

	r    *bufio.Reader
	file io.Closer
	buf  []byte
}

// Next gives the next entry, valid until the call after; io.EOF after the last
// whole one.
func (w *WireReader) Next() (Entry, error) {
	head, err := w.r.Peek(headSize)
	if err != nil {
		return w.end(err)
	}
	n := size(head)
	if cap(w.buf) < n {
		w.buf = make([]byte, n, n+1024)
	}
	got, err := io.ReadFull(w.r, w.buf[:n])
	body := n - checkSize
	if err != nil || frame.CRC(w.buf[:body]) != binary.LittleEndian.Uint16(w.buf[body:n]) {
		w.Torn += int64(got)
		return w.end(err)
	}
	return Entry{Kind(w.buf[0]), w.buf[headSize:body]}, nil
}

// end counts what is left.
func (w *WireReader) end(err error) (Entry, error) {
	if err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
		return Entry{}, err
	}
	left, err := io.Copy(io.Discard, w.r)
	w.Torn += left
	if err != nil {
		return Entry{}, err
	}
	return Entry{}, io.EOF
}

// Close closes the file.
func (w *WireReader) Close() error { return w.file.Close() }
