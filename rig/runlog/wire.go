package runlog

import (
	"bufio"
	"encoding/binary"
	"io"
	"math"
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

func (k Kind) known() bool {
	switch k {
	case FromBoard, ToBoard, HostTime, ReadFailed, WriteFailed:
		return true
	}
	return false
}

// Entry is one thing that passed between host and port.
type Entry struct {
	Kind  Kind
	Bytes []byte
}

// headSize is the kind and the length of the bytes behind it.
const headSize = 1 + 2

// append writes the entry: kind, length (little endian), bytes.
func (e Entry) append(b []byte) []byte {
	bytes := e.Bytes[:min(len(e.Bytes), math.MaxUint16)]
	b = append(b, byte(e.Kind))
	b = binary.LittleEndian.AppendUint16(b, uint16(len(bytes)))
	return append(b, bytes...)
}

// WireReader reads wire.bin entry by entry.
type WireReader struct {
	// Torn is how many bytes at the end are not a whole entry. It is known
	// once Next has given io.EOF.
	Torn int64

	r    *bufio.Reader
	file io.Closer
	buf  []byte
}

// Next gives the next entry, valid until the call after; io.EOF after the last
// whole one.
func (w *WireReader) Next() (Entry, error) {
	head, err := w.r.Peek(headSize)
	if err != nil || !Kind(head[0]).known() {
		return w.end(err)
	}
	n := headSize + int(binary.LittleEndian.Uint16(head[1:]))
	if cap(w.buf) < n {
		w.buf = make([]byte, n, n+1024)
	}
	got, err := io.ReadFull(w.r, w.buf[:n])
	if err != nil {
		w.Torn += int64(got)
		return w.end(err)
	}
	return Entry{Kind(w.buf[0]), w.buf[headSize:n]}, nil
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
