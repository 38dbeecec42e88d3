package runlog

import (
	"encoding/binary"
	"math"

	"govrig/protocol"
	"govrig/protocol/frame"
	"govrig/rig/runlog/block"
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

// entries are entries of wire.bin one behind the other.
type entries struct {
	kinds   []byte
	lengths []int64
	bytes   []byte
}

// longestEntry is the most that an entry holds.
const longestEntry = math.MaxUint16

func (e *entries) add(one Entry) {
	bytes := one.Bytes[:min(len(one.Bytes), longestEntry)]
	e.kinds = append(e.kinds, byte(one.Kind))
	e.lengths = append(e.lengths, int64(len(bytes)))
	e.bytes = append(e.bytes, bytes...)
}

func (e *entries) addAll(more *entries) {
	e.kinds = append(e.kinds, more.kinds...)
	e.lengths = append(e.lengths, more.lengths...)
	e.bytes = append(e.bytes, more.bytes...)
}

func (e *entries) clear() { e.kinds, e.lengths, e.bytes = e.kinds[:0], e.lengths[:0], e.bytes[:0] }

// A block has at most so many rows, and at most so many bytes and one entry.
const (
	blockRows  = 4096
	blockBytes = 256 << 10
)

// cut takes as many entries from the front as a block has at most.
func (e *entries) cut() (front entries) {
	n, size := 0, 0
	for n < len(e.kinds) && n < blockRows && size < blockBytes {
		size += int(e.lengths[n])
		n++
	}
	front = entries{e.kinds[:n], e.lengths[:n], e.bytes[:size]}
	e.kinds, e.lengths, e.bytes = e.kinds[n:], e.lengths[n:], e.bytes[size:]
	return front
}

// wirePacker makes blocks of entries.
type wirePacker struct {
	block   block.Writer
	lengths []int64
	clock   []int64
	words   []byte
	streams [2][]byte // from the board, to it

	segments []int64
	loose    []byte
	messages [protocol.MaxPayload + 1][]byte // by their length
	frame    []byte
	decoder  frame.Decoder
}

// append appends one block of all of e to dst. Only where blocks are packed are
// the streams taken apart into their messages.
func (p *wirePacker) append(dst []byte, e *entries) []byte {
	p.sort(e)
	p.block.Begin(len(e.kinds))
	p.block.Bytes(e.kinds)
	p.block.Ints(p.lengths, 0)
	p.block.Ints(p.clock, 2)
	p.block.Bytes(p.words)
	for _, stream := range p.streams {
		p.takeApart(stream)
		p.block.Ints(p.segments, 0)
		p.block.Bytes(p.loose)
		for n, messages := range p.messages {
			if len(messages) > 0 {
				p.block.Messages(messages, n)
			}
		}
	}
	return p.block.Append(dst)
}

// sort puts the content of each entry where its kind belongs.
func (p *wirePacker) sort(e *entries) {
	p.lengths, p.clock, p.words = p.lengths[:0], p.clock[:0], p.words[:0]
	p.streams[0], p.streams[1] = p.streams[0][:0], p.streams[1][:0]
	rest := e.bytes
	for i, kind := range e.kinds {
		content := rest[:e.lengths[i]]
		rest = rest[len(content):]
		if Kind(kind) == HostTime {
			p.clock = append(p.clock, int64(binary.LittleEndian.Uint64(content)))
			continue
		}
		p.lengths = append(p.lengths, int64(len(content)))
		switch Kind(kind) {
		case FromBoard:
			p.streams[0] = append(p.streams[0], content...)
		case ToBoard:
			p.streams[1] = append(p.streams[1], content...)
		default:
			p.words = append(p.words, content...)
		}
	}
}

// takeApart parts a stream into frames, of which the messages are kept, and what
// is none, of which the bytes are: in segments n is a message of n bytes, −n are n
// loose bytes.
func (p *wirePacker) takeApart(stream []byte) {
	p.segments, p.loose = p.segments[:0], p.loose[:0]
	for n := range p.messages {
		p.messages[n] = p.messages[n][:0]
	}
	from := 0 // of what is neither yet
	p.decoder = frame.Decoder{}
	start := 0
	for i, c := range stream {
		if !p.block.Pack || c != 0 {
			continue
		}
		if m := p.message(stream[start : i+1]); m != nil {
			p.leave(stream[from:start])
			p.segments = append(p.segments, int64(len(m)))
			p.messages[len(m)] = append(p.messages[len(m)], m...)
			from = i + 1
		}
		start = i + 1
	}
	p.leave(stream[from:])
}

func (p *wirePacker) leave(bytes []byte) {
	if len(bytes) > 0 {
		p.segments = append(p.segments, -int64(len(bytes)))
		p.loose = append(p.loose, bytes...)
	}
}

// message gives the message of a frame that comes back from it byte for byte, or
// nil.
func (p *wirePacker) message(bytes []byte) (m []byte) {
	for _, c := range bytes {
		m, _ = p.decoder.Next(c)
	}
	if m == nil {
		return nil
	}
	p.frame = frame.Append(p.frame[:0], m)
	if string(p.frame) != string(bytes) {
		return nil
	}
	return m
}
