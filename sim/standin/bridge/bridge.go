// Package bridge models the way between a computer and a board: USB frames, a
// bridge that holds bytes back, and a computer that does not look at once.
//
// It keeps the board's time and no other, and is the same every time: what is
// random comes from a seed.
package bridge

import (
	"math"
	"math/rand/v2"
	"time"

	"govrig/protocol"
)

// tickHz is the board's tick rate.
const tickHz = protocol.TickHz

// Never is a moment that does not come.
const Never = int64(1) << 62

// Bridge is a wire of some Kind. It is used from one goroutine; the ticks that it
// is given must not fall.
type Bridge struct {
	frame, timer, far, jitter, stall, every int64 // ticks
	packet                                  int

	random *rand.Rand
	phase  int64 // of the USB frames

	held    []byte // by the bridge, on their way to the host
	handsOn int64  // when the bridge hands on next, packet or not
	toHost  lane
	toBoard lane

	stalled, until int64 // the present or next stall
}

// New gives a bridge of a kind.
func New(kind Kind, seed uint64) *Bridge {
	b := &Bridge{
		frame: ticks(kind.Frame), timer: ticks(kind.Timer), far: ticks(kind.Far), jitter: ticks(kind.Jitter),
		stall: ticks(kind.Stall), every: ticks(kind.StallEvery), packet: kind.Packet,
		random: rand.New(rand.NewPCG(seed, 0)), stalled: Never, until: Never,
	}
	if b.frame > 0 {
		b.phase = b.random.Int64N(b.frame)
	}
	b.nextStall(0)
	return b
}

func ticks(d time.Duration) int64 { return int64(math.Round(d.Seconds() * tickHz)) }

// Stall has the computer do nothing from a tick on, for so long.
func (b *Bridge) Stall(from int64, length time.Duration) {
	b.stalled, b.until = from, from+ticks(length)
}

func (b *Bridge) nextStall(after int64) {
	b.stalled, b.until = Never, Never
	if b.every > 0 {
		b.stalled = after + int64(b.random.ExpFloat64()*float64(b.every))
		b.until = b.stalled + b.stall
	}
}

// FromBoard takes in a byte that has left the board by tick.
func (b *Bridge) FromBoard(tick int64, c byte) {
	b.flush(tick)
	if len(b.held) == 0 {
		b.begin(tick)
	}
	b.held = append(b.held, c)
	if b.packet > 0 && len(b.held) == b.packet {
		b.handOn(tick)
	}
}

// begin sets when the bridge hands on what it begins to hold: when its timer runs
// out next, or with the next USB frame.
func (b *Bridge) begin(tick int64) {
	switch {
	case b.timer == 0:
		b.handsOn = b.nextFrame(tick)
	case b.handsOn < tick:
		b.handsOn += (tick - b.handsOn + b.timer - 1) / b.timer * b.timer
	}
}

// flush hands on what is held when the timer has run out by tick.
func (b *Bridge) flush(tick int64) {
	if due := b.due(); due <= tick {
		b.handOn(due)
	}
}

// due is when the bridge hands on what it holds, packet or not.
func (b *Bridge) due() int64 {
	if len(b.held) == 0 {
		return Never
	}
	return b.handsOn
}

// handOn sends what is held to the computer with the next USB frame.
func (b *Bridge) handOn(tick int64) {
	b.handsOn = tick + b.timer
	at := b.nextFrame(tick) + b.far
	if b.jitter > 0 {
		at += int64(math.Min(6, b.random.ExpFloat64()) * float64(b.jitter))
	}
	for b.until <= at {
		b.nextStall(b.until)
	}
	if b.stalled <= at {
		at = b.until
	}
	b.toHost.put(at, b.held)
	b.held = b.held[:0]
}

// nextFrame is the first start of a USB frame at tick or after.
func (b *Bridge) nextFrame(tick int64) int64 {
	if b.frame == 0 {
		return tick
	}
	late := (tick - b.phase) % b.frame
	if late < 0 {
		late += b.frame
	}
	if late == 0 {
		return tick
	}
	return tick + b.frame - late
}

// FromHost takes in bytes that the computer has written by tick.
func (b *Bridge) FromHost(tick int64, p []byte) { b.toBoard.put(b.nextFrame(tick)+b.far, p) }

// Next is when anything happens next.
func (b *Bridge) Next() int64 { return min(b.due(), b.toHost.next(), b.toBoard.next()) }

// ToHost gives the bytes that have reached the computer by tick. They are valid
// until the next call.
func (b *Bridge) ToHost(tick int64) []byte {
	b.flush(tick)
	return b.toHost.take(tick)
}

// ToBoard gives those that go onto the board's serial line at tick.
func (b *Bridge) ToBoard(tick int64) []byte { return b.toBoard.take(tick) }

// lane holds bytes on their way, in order.
type lane struct {
	at    []int64 // when the bytes up to end are there
	end   []int
	bytes []byte
	taken []byte
}

func (l *lane) put(at int64, p []byte) {
	if n := len(l.at); n > 0 {
		at = max(at, l.at[n-1])
	}
	l.bytes = append(l.bytes, p...)
	l.at, l.end = append(l.at, at), append(l.end, len(l.bytes))
}

func (l *lane) next() int64 {
	if len(l.at) == 0 {
		return Never
	}
	return l.at[0]
}

func (l *lane) take(tick int64) []byte {
	n, end := 0, 0
	for n < len(l.at) && l.at[n] <= tick {
		end = l.end[n]
		n++
	}
	l.taken = append(l.taken[:0], l.bytes[:end]...)
	l.bytes = l.bytes[:copy(l.bytes, l.bytes[end:])]
	l.at, l.end = l.at[:copy(l.at, l.at[n:])], l.end[:copy(l.end, l.end[n:])]
	for i := range l.end {
		l.end[i] -= end
	}
	return l.taken
}
