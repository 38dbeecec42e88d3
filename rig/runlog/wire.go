package runlog

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"

	"govrig/protocol"
	"govrig/protocol/frame"
	"govrig/rig/runlog/block"
)

// WireReader reads wire.bin entry by entry.
type WireReader struct {
	source entrySource
	file   io.Closer
}

// entrySource is wire.bin in one of its forms.
type entrySource interface {
	// next gives the next entry, valid until the call after, and io.EOF after the
	// last whole one.
	next() (Entry, error)
	// torn is how many bytes of the file were not whole entries, once next has
	// given io.EOF.
	torn() int64
}

// Next gives the next entry, valid until the call after; io.EOF after the last
// one. In a record that was cut off that is the last whole one.
func (w *WireReader) Next() (Entry, error) { return w.source.next() }

// Torn is how many bytes at the end of a record that was cut off could not be
// read. It is known once Next has given io.EOF.
func (w *WireReader) Torn() int64 { return w.source.torn() }

// Close closes the file.
func (w *WireReader) Close() error { return w.file.Close() }

// wireParts are entries, sorted by what they hold.
type wireParts struct {
	kinds   []byte
	lengths []int64   // of all but the clock's
	clock   []int64   // ns
	words   []byte    // of what failed
	streams [2][]byte // from the board, to it
}

// wireBlocks reads entries out of blocks.
type wireBlocks struct {
	blocks *blockFile
	block  wireParts
	left   wireParts // of the block

	segments []int64
	loose    []byte
	messages [protocol.MaxPayload + 1][]byte // by their length
	time     [8]byte
}

func (w *wireBlocks) torn() int64 { return w.blocks.torn }

func (w *wireBlocks) next() (Entry, error) {
	for len(w.left.kinds) == 0 {
		if err := w.blocks.next(w.unpack); err != nil {
			return Entry{}, err
		}
		w.left = w.block
	}
	l := &w.left
	e := Entry{Kind: Kind(l.kinds[0])}
	l.kinds = l.kinds[1:]
	from := &l.words
	switch e.Kind {
	case HostTime:
		binary.LittleEndian.PutUint64(w.time[:], uint64(l.clock[0]))
		l.clock, e.Bytes = l.clock[1:], w.time[:]
		return e, nil
	case FromBoard:
		from = &l.streams[0]
	case ToBoard:
		from = &l.streams[1]
	}
	n := l.lengths[0]
	l.lengths, e.Bytes, *from = l.lengths[1:], (*from)[:n:n], (*from)[n:]
	return e, nil
}

var errEntries = errors.New("its entries do not agree with their bytes")

// unpack takes a block apart.
func (w *wireBlocks) unpack(b *block.Reader) (err error) {
	p := &w.block
	if p.kinds, err = b.Bytes(p.kinds[:0]); err != nil {
		return err
	}
	if len(p.kinds) != b.Rows {
		return errEntries
	}
	clocks := bytes.Count(p.kinds, []byte{byte(HostTime)})
	if p.lengths, err = b.Ints(p.lengths[:0], b.Rows-clocks, 0); err != nil {
		return err
	}
	if p.clock, err = b.Ints(p.clock[:0], clocks, 2); err != nil {
		return err
	}
	if p.words, err = b.Bytes(p.words[:0]); err != nil {
		return err
	}
	for i := range p.streams {
		if p.streams[i], err = w.putTogether(b, p.streams[i][:0]); err != nil {
			return err
		}
	}
	return p.agree()
}

// agree holds the lengths of the entries against their bytes.
func (p *wireParts) agree() error {
	var words, fromBoard, toBoard int64
	lengths := p.lengths
	for _, kind := range p.kinds {
		if Kind(kind) == HostTime {
			continue
		}
		n := lengths[0]
		if lengths = lengths[1:]; n < 0 || n > longestEntry {
			return errEntries
		}
		switch Kind(kind) {
		case FromBoard:
			fromBoard += n
		case ToBoard:
			toBoard += n
		case ReadFailed, WriteFailed:
			words += n
		default:
			return errors.New("an entry of it is of no known kind")
		}
	}
	if words != int64(len(p.words)) || fromBoard != int64(len(p.streams[0])) || toBoard != int64(len(p.streams[1])) {
		return errEntries
	}
	return nil
}

// putTogether makes a stream of its frames and its loose bytes.
func (w *wireBlocks) putTogether(b *block.Reader, stream []byte) (_ []byte, err error) {
	var counts [protocol.MaxPayload + 1]int
	if err := w.readSegments(b, &counts); err != nil {
		return stream, err
	}
	if w.loose, err = b.Bytes(w.loose[:0]); err != nil {
		return stream, err
	}
	for n, count := range counts {
		w.messages[n] = w.messages[n][:0]
		if count == 0 {
			continue
		}
		if w.messages[n], err = b.Messages(w.messages[n], count, n); err != nil {
			return stream, err
		}
	}
	loose, messages := w.loose, w.messages
	for _, n := range w.segments {
		if n > 0 {
			stream = frame.Append(stream, messages[n][:n])
			messages[n] = messages[n][n:]
			continue
		}
		if -n > int64(len(loose)) {
			return stream, errEntries
		}
		stream, loose = append(stream, loose[:-n]...), loose[-n:]
	}
	return stream, nil
}

// readSegments reads the segments of a stream and counts the messages by their
// length.
func (w *wireBlocks) readSegments(b *block.Reader, counts *[protocol.MaxPayload + 1]int) (err error) {
	if w.segments, err = b.AllInts(w.segments[:0], 0); err != nil {
		return err
	}
	total := int64(0)
	for _, n := range w.segments {
		switch {
		case n == 0, n > protocol.MaxPayload, n < -block.MaxContent:
			return errEntries
		case n > 0:
			counts[n]++
			total += n
		default:
			total -= n
		}
		if total > block.MaxContent {
			return errEntries
		}
	}
	return nil
}
