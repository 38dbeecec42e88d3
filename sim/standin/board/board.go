// Package board is the virtual board: the far end of the wire, in memory.
//
// It speaks the same messages as the firmware and keeps the wire's time: a
// byte takes its ten bit times, a message is acted on after the time the
// firmware takes. A governor sits on its lines, such as the stand-in. Nothing runs on its
// own: reading moves the board's time forward to the moment the next frame has
// left it, so host and board move in lockstep and a run is the same every
// time.
package board

import (
	"io"
	"os"

	"govrig/protocol"
	"govrig/protocol/frame"
	"govrig/sim/pickup/turned"
	"govrig/sim/standin/bridge"
	"govrig/sim/standin/governor"
)

// TickHz is the board's tick rate.
const TickHz = protocol.TickHz

// never is a moment that does not come.
const never = int64(1) << 62

// Options sets up a virtual board. The zero value is a board with nothing on
// its lines, on the usual wire.
type Options struct {
	// Governor sits on the lines; nil leaves them open.
	Governor governor.Unit
	// Jumpers join outputs to inputs, where no governor sits on them.
	Jumpers []Jumper
	// Turned is a sensor on the pickup probe, turned from when the board is
	// first told to listen there; nil leaves it open.
	Turned *turned.Sensor
	// Watch, when set, is shown every edge of the board's outputs.
	Watch func(line governor.Line, tick int64, high bool)
	// Baud is the speed of the host's end of the wire; 0 is protocol.BaudFast.
	// The board starts at protocol.BaudFast.
	Baud int
	// HostDelayTicks passes between the end of a frame from the board and the
	// first byte of the host's answer.
	HostDelayTicks int64
	// HostDelay, when set, gives that time anew for each answer.
	HostDelay func() int64
	// Start is the tick at which the board is switched on; the governor's
	// start must be the same.
	Start int64
}

// Times that the firmware takes, as measured in emulation.
const (
	bootTicks    = 4_800 // from switching on to hearing the wire
	composeTicks = 424   // from a telemetry moment to the first start bit
	applyTicks   = 592   // from the end of a frame to acting on it
)

// readLimitTicks is the board time that Read gives a frame to come.
const readLimitTicks = TickHz

// Board is a virtual board. It is used from one goroutine.
type Board struct {
	options Options
	bridge  *bridge.Bridge // nil is none
	speed   speed
	now     int64
	closed  bool

	decoder  frame.Decoder
	incoming queue
	wireFree int64 // the wire to the board is busy until then

	outgoing []byte
	arrived  []byte // storage of unread
	unread   []byte
	sent     int64 // when the last byte of outgoing has left

	session  session
	pickup   pickup
	stick    servo
	selector servo
	capture  capture
	inputs   inputs
	levels   levels
	frame    int64 // the governor's next frame
}

// New gives a board that has just been switched on.
func New(options Options) *Board {
	b := &Board{options: options, now: options.Start, speed: newSpeed(options.Baud)}
	b.pickup = newPickup()
	b.stick, b.selector = newServo(governor.Stick), newServo(governor.Select)
	b.inputs = inputs{rise: never, fall: never, probe: never, turned: never}
	if options.Turned != nil {
		b.levels.now = options.Turned.Volts(options.Turned.Idle())
		b.capture.high[Probe] = b.levels.now > referenceVolts
	}
	b.session.reset()
	b.frame = never
	if options.Governor != nil {
		b.frame = options.Governor.NextFrame()
	}
	return b
}

// Through puts a bridge between computer and board. It is to be done before
// anything is sent.
func (b *Board) Through(way *bridge.Bridge) { b.bridge = way }

// Now is the board's present tick.
func (b *Board) Now() int64 { return b.now }

// Write sends bytes to the board. They begin to arrive after the host delay,
// or when the wire is free.
func (b *Board) Write(p []byte) (int, error) {
	if b.closed {
		return 0, os.ErrClosed
	}
	delay := b.options.HostDelayTicks
	if b.options.HostDelay != nil {
		delay = b.options.HostDelay()
	}
	if b.bridge != nil {
		b.bridge.FromHost(b.now+delay, p)
		return len(p), nil
	}
	b.hear(b.now+delay, p)
	return len(p), nil
}

// hear takes in bytes that go onto the wire at tick at, or when it is free.
func (b *Board) hear(at int64, p []byte) {
	at = max(at, b.wireFree)
	for _, c := range p {
		at += b.speed.host
		if at < b.options.Start+bootTicks {
			continue // nobody hears it yet
		}
		if !b.speed.same() {
			b.strange()
			continue
		}
		if message, ok := b.decoder.Next(c); ok {
			b.speed.strange = 0
			b.incoming.push(at+applyTicks, message)
		}
	}
	b.wireFree = at
}

// Read runs the board until a frame has left it and gives its bytes. When none
// comes within a second of the board's time the error is
// os.ErrDeadlineExceeded.
func (b *Board) Read(p []byte) (int, error) {
	if b.closed {
		return 0, os.ErrClosed
	}
	limit := b.now + readLimitTicks
	for len(b.unread) == 0 {
		if b.now >= limit {
			return 0, os.ErrDeadlineExceeded
		}
		b.step(limit)
	}
	n := copy(p, b.unread)
	b.unread = b.unread[n:]
	return n, nil
}

// Close switches the board off.
func (b *Board) Close() error {
	b.closed = true
	return nil
}

var _ io.ReadWriteCloser = (*Board)(nil)

// step moves to the next moment at which anything happens, but not past limit,
// and does what is due then.
func (b *Board) step(limit int64) {
	next := min(limit, b.sendDone(), b.incoming.next(), b.session.telemetry, b.session.failsafe,
		b.pickup.next(), b.stick.next(), b.selector.next(), b.inputs.next(), b.frame, b.crossing())
	b.now = max(b.now, next)
	b.lines()
	if b.frame <= b.now {
		b.throttle()
	}
	if b.bridge != nil && b.crossing() <= b.now {
		b.cross()
	}
	if b.incoming.next() <= b.now {
		b.receive(b.incoming.pop())
	}
	if b.session.failsafe <= b.now {
		b.fail()
	}
	if b.session.telemetry <= b.now {
		b.sendTelemetry()
	}
	if b.sendDone() <= b.now {
		b.arrived = append(b.arrived[:0], b.outgoing...)
		b.speed.hear(b.arrived)
		b.leave()
		b.outgoing = b.outgoing[:0]
		if b.levels.due {
			b.sendLevels()
		}
	}
}

// leave hands what has left the board to the host, or to the bridge.
func (b *Board) leave() {
	if b.bridge == nil {
		b.unread = b.arrived
		return
	}
	for i, c := range b.arrived {
		b.bridge.FromBoard(b.sent-int64(len(b.arrived)-1-i)*b.speed.board, c)
	}
}

// crossing is when bytes come out of the bridge.
func (b *Board) crossing() int64 {
	if b.bridge == nil {
		return never
	}
	return b.bridge.Next()
}

// cross moves the bytes that come out of the bridge, at either end.
func (b *Board) cross() {
	b.hear(b.now, b.bridge.ToBoard(b.now))
	b.unread = append(b.unread, b.bridge.ToHost(b.now)...)
}

// lines makes the edges that are due now and shows them to the governor.
func (b *Board) lines() {
	if high, ok := b.pickup.step(b.now, b.session.width, &b.session.status); ok {
		b.edge(governor.Pickup, high != b.session.pickupLow())
	}
	if high, ok := b.stick.step(b.now, b.session.servoPeriod); ok {
		b.edge(governor.Stick, high)
	}
	if high, ok := b.selector.step(b.now, b.session.servoPeriod); ok {
		b.edge(governor.Select, high)
	}
	b.listen()
}

func (b *Board) edge(line governor.Line, high bool) {
	if b.options.Watch != nil {
		b.options.Watch(line, b.now, high)
	}
	if b.options.Governor != nil {
		b.options.Governor.Edge(line, b.now, high)
	}
	b.jump(line, high)
}

// throttle lets the governor start its next throttle pulse, which the board
// times.
func (b *Board) throttle() {
	rise, width := b.options.Governor.Frame()
	if width > 0 {
		b.inputs.rise, b.inputs.fall = rise, rise+width
	}
	b.frame = b.options.Governor.NextFrame()
}

// sendDone is when the frame on its way out has left.
func (b *Board) sendDone() int64 {
	if len(b.outgoing) == 0 {
		return never
	}
	return b.sent
}

// send puts a message on the wire to the host.
func (b *Board) send(message []byte) {
	start := b.now + composeTicks
	if len(b.outgoing) > 0 {
		start = max(start, b.sent)
	}
	before := len(b.outgoing)
	b.outgoing = frame.Append(b.outgoing, message)
	b.sent = start + int64(len(b.outgoing)-before)*b.speed.board
}

// queue holds messages that have been received and will be acted on.
type queue struct {
	items []item
}

type item struct {
	at      int64
	length  int
	message [protocol.MaxPayload]byte
}

func (q *queue) push(at int64, message []byte) {
	it := item{at: at, length: len(message)}
	copy(it.message[:], message)
	q.items = append(q.items, it)
}

func (q *queue) next() int64 {
	if len(q.items) == 0 {
		return never
	}
	return q.items[0].at
}

func (q *queue) pop() item {
	it := q.items[0]
	q.items = q.items[:copy(q.items, q.items[1:])]
	return it
}
