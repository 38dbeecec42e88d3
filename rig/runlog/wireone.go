package runlog

import (
	"bufio"
	"encoding/binary"
	"io"

	"govrig/protocol/frame"
)

// wireOne reads the wire.bin of form 1: entries one behind the other, each with its
// kind, its length (little endian), its bytes and the check of all of these that
// the wire uses too (little endian).
type wireOne struct {
	r    *bufio.Reader
	buf  []byte
	left int64 // bytes of the file behind the last whole entry
}

const (
	headSize  = 1 + 2 // the kind, and the length of the bytes behind it
	checkSize = 2     // behind them, over all that
)

func (w *wireOne) torn() int64 { return w.left }

func (w *wireOne) next() (Entry, error) {
	head, err := w.r.Peek(headSize)
	if err != nil {
		return w.end(err)
	}
	n := headSize + int(binary.LittleEndian.Uint16(head[1:])) + checkSize
	if cap(w.buf) < n {
		w.buf = make([]byte, n, n+1024)
	}
	_, err = io.ReadFull(w.r, w.buf[:n])
	body := n - checkSize
	if err != nil || frame.CRC(w.buf[:body]) != binary.LittleEndian.Uint16(w.buf[body:n]) {
		return w.end(err)
	}
	w.left -= int64(n)
	return Entry{Kind(w.buf[0]), w.buf[headSize:body]}, nil
}

// end gives the end of what is whole in place of an error that only says so.
func (w *wireOne) end(err error) (Entry, error) {
	if err == nil || err == io.ErrUnexpectedEOF {
		err = io.EOF
	}
	return Entry{}, err
}
