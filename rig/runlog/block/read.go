package block

import (
	"bufio"
	"bytes"
	"compress/flate"
	"encoding/binary"
	"hash/crc32"
	"io"
	"slices"
)

// Reader reads blocks one behind the other.
type Reader struct {
	// Rows is how many rows the present block has.
	Rows int
	// Good is how many bytes of the file were whole blocks so far.
	Good int64

	r       *bufio.Reader
	content []byte
	rest    []byte // columns of the present block still to come
	column  []byte
	more    [1]byte
	source  bytes.Reader
	inflate io.ReadCloser
}

// NewReader gives a Reader of r.
func NewReader(r io.Reader) *Reader { return &Reader{r: bufio.NewReaderSize(r, 1<<16)} }

// Next goes to the next block: io.EOF where the file ends, ErrDamaged where no
// whole one follows.
func (r *Reader) Next() error {
	var head [headSize]byte
	if _, err := io.ReadFull(r.r, head[:]); err != nil {
		return torn(err)
	}
	n := binary.LittleEndian.Uint32(head[:])
	if n == 0 || n > MaxContent {
		return damaged("a length of %d bytes", n)
	}
	if cap(r.content) < int(n) {
		r.content = make([]byte, n, n+n/4)
	}
	r.content = r.content[:n]
	if _, err := io.ReadFull(r.r, r.content); err != nil {
		if err == io.EOF {
			err = io.ErrUnexpectedEOF
		}
		return torn(err)
	}
	if crc32.ChecksumIEEE(r.content) != binary.LittleEndian.Uint32(head[4:]) {
		return damaged("its check is wrong")
	}
	rows, used := binary.Uvarint(r.content)
	if used <= 0 || rows > MaxRows {
		return damaged("the number of its rows makes no sense")
	}
	r.Rows, r.rest = int(rows), r.content[used:]
	r.Good += headSize + int64(n)
	return nil
}

func torn(err error) error {
	if err == io.ErrUnexpectedEOF {
		return damaged("the file ends in it")
	}
	return err
}

// next gives how the next column is stored, how long it is and its stored bytes.
func (r *Reader) next() (how byte, length int, stored []byte, err error) {
	if len(r.rest) == 0 {
		return 0, 0, nil, damaged("it has too few columns")
	}
	how, r.rest = r.rest[0], r.rest[1:]
	if length, err = r.length(MaxContent); err != nil {
		return 0, 0, nil, err
	}
	size := length
	if how == deflated {
		if size, err = r.length(len(r.rest)); err != nil {
			return 0, 0, nil, err
		}
	}
	if how > deflated || size > len(r.rest) {
		return 0, 0, nil, damaged("a column of it makes no sense")
	}
	stored, r.rest = r.rest[:size], r.rest[size:]
	return how, length, stored, nil
}

func (r *Reader) length(most int) (int, error) {
	n, used := binary.Uvarint(r.rest)
	if used <= 0 || n > uint64(most) {
		return 0, damaged("the length of a column makes no sense")
	}
	r.rest = r.rest[used:]
	return int(n), nil
}

// Skip passes over a column.
func (r *Reader) Skip() error {
	_, _, _, err := r.next()
	return err
}

// Bytes appends the next column, of bytes, to dst.
func (r *Reader) Bytes(dst []byte) ([]byte, error) {
	how, length, stored, err := r.next()
	switch {
	case err != nil:
		return dst, err
	case how == plain:
		return append(dst, stored...), nil
	}
	r.source.Reset(stored)
	if r.inflate == nil {
		r.inflate = flate.NewReader(&r.source)
	} else if err := r.inflate.(flate.Resetter).Reset(&r.source, nil); err != nil {
		return dst, err
	}
	at := len(dst)
	dst = slices.Grow(dst, length)[:at+length]
	if _, err := io.ReadFull(r.inflate, dst[at:]); err != nil {
		return dst[:at], damaged("a column of it cannot be unpacked")
	}
	if n, err := r.inflate.Read(r.more[:]); n > 0 || err != io.EOF {
		return dst[:at], damaged("a column of it is longer than it says")
	}
	return dst, nil
}

// Ints appends the next column, of n numbers kept as differences of an order, to
// dst.
func (r *Reader) Ints(dst []int64, n, order int) ([]int64, error) {
	at := len(dst)
	dst, err := r.AllInts(dst, order)
	if err == nil && len(dst)-at != n {
		err = damaged("a column of it has %d numbers in place of %d", len(dst)-at, n)
	}
	return dst, err
}

// AllInts is Ints where it is not known how many there are.
func (r *Reader) AllInts(dst []int64, order int) ([]int64, error) {
	var err error
	if r.column, err = r.Bytes(r.column[:0]); err != nil {
		return dst, err
	}
	var before, slope int64
	for rest := r.column; len(rest) > 0; {
		var d int64
		if rest[0] < 0x80 { // most are so
			d, rest = int64(rest[0]>>1)^-int64(rest[0]&1), rest[1:]
		} else {
			v, used := binary.Varint(rest)
			if used <= 0 {
				return dst, damaged("a number of it makes no sense")
			}
			d, rest = v, rest[used:]
		}
		if order > 1 {
			slope += d
			d = slope
		}
		if order > 0 {
			before += d
			d = before
		}
		dst = append(dst, d)
	}
	return dst, nil
}

// Messages appends the next column, of n messages of the same length, to dst, one
// behind the other.
func (r *Reader) Messages(dst []byte, n, length int) ([]byte, error) {
	var err error
	if r.column, err = r.Bytes(r.column[:0]); err != nil {
		return dst, err
	}
	if len(r.column) != n*length {
		return dst, damaged("its messages have another length than it says")
	}
	at := len(dst)
	dst = append(dst, r.column...)
	messages := dst[at:]
	for i := range length {
		value := byte(0)
		for k, d := range r.column[i*n : (i+1)*n] {
			value += d
			messages[k*length+i] = value
		}
	}
	return dst, nil
}
