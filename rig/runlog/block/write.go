package block

import (
	"compress/flate"
	"encoding/binary"
	"hash/crc32"
)

// Writer makes blocks. Begin comes first, then the columns, then Append.
type Writer struct {
	// Pack has columns deflated: worth its time for blocks of many rows.
	Pack bool

	content []byte
	column  []byte
	packer  *flate.Writer
	packed  sink
}

// sink is a growing buffer.
type sink struct{ bytes []byte }

func (s *sink) Write(p []byte) (int, error) {
	s.bytes = append(s.bytes, p...)
	return len(p), nil
}

// Begin begins a block of so many rows, at most MaxRows.
func (w *Writer) Begin(rows int) {
	w.content = binary.AppendUvarint(w.content[:0], uint64(rows))
}

// Ints adds a column of whole numbers, stored as differences of the given order,
// 0 to 2: of small ones little is left when they are deflated.
func (w *Writer) Ints(values []int64, order int) {
	w.column = w.column[:0]
	var before, slope int64
	for _, v := range values {
		d := v
		if order > 0 {
			d, before = v-before, v
		}
		if order > 1 {
			d, slope = d-slope, d
		}
		w.column = binary.AppendVarint(w.column, d)
	}
	w.add(w.column)
}

// Bytes adds a column of bytes, at most MaxContent.
func (w *Writer) Bytes(b []byte) { w.add(b) }

// Messages adds a column of messages of the same length that stand one behind the
// other: first the first byte of each, less that of the one before, then the
// second of each, and so on.
func (w *Writer) Messages(messages []byte, length int) {
	w.column = w.column[:0]
	for i := range length {
		before := byte(0)
		for at := i; at < len(messages); at += length {
			w.column = append(w.column, messages[at]-before)
			before = messages[at]
		}
	}
	w.add(w.column)
}

// add adds a column in the form that is shorter.
func (w *Writer) add(column []byte) {
	if w.Pack {
		w.pack(column)
		if len(w.packed.bytes) < len(column) {
			w.content = append(w.content, deflated)
			w.content = binary.AppendUvarint(w.content, uint64(len(column)))
			w.content = binary.AppendUvarint(w.content, uint64(len(w.packed.bytes)))
			w.content = append(w.content, w.packed.bytes...)
			return
		}
	}
	w.content = append(w.content, plain)
	w.content = binary.AppendUvarint(w.content, uint64(len(column)))
	w.content = append(w.content, column...)
}

// pack deflates a column. A sink takes everything, so nothing can fail.
func (w *Writer) pack(column []byte) {
	w.packed.bytes = w.packed.bytes[:0]
	if w.packer == nil {
		w.packer, _ = flate.NewWriter(&w.packed, level)
	} else {
		w.packer.Reset(&w.packed)
	}
	_, _ = w.packer.Write(column)
	_ = w.packer.Close()
}

// level is a compromise: a higher one takes twice the time for a few per cent.
const level = 5

// Append appends the block to dst.
func (w *Writer) Append(dst []byte) []byte {
	dst = binary.LittleEndian.AppendUint32(dst, uint32(len(w.content)))
	dst = binary.LittleEndian.AppendUint32(dst, crc32.ChecksumIEEE(w.content))
	return append(dst, w.content...)
}
