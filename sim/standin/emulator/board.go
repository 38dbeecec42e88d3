package emulator

import (
	"fmt"
	"io"
	"os"
	"sync"
	"time"

	"govrig/protocol"
	"govrig/sim/pickup/turned"
	"govrig/sim/standin/board"
	"govrig/sim/standin/bridge"
	"govrig/sim/standin/governor"
)

// TickHz is the board's tick rate: its CPU clock.
const TickHz = protocol.TickHz

// readLimitTicks is the board time that Read gives a frame to come.
const readLimitTicks = TickHz

// Options sets up an emulated board.
type Options struct {
	// Harness is the path of the harness; Build gives it.
	Harness string
	// Firmware is the path of the firmware, an Intel hex or (.elf) an ELF.
	Firmware string
	// Baud is the speed of the host's end of the wire; 0 is 500 000.
	Baud int
	// HostDelayTicks passes between the end of a frame from the board and the
	// first byte of the host's answer.
	HostDelayTicks int64
	// Governor, Jumpers and Turned are the Wires at tick 0.
	Governor governor.Unit
	Jumpers  []board.Jumper
	Turned   *turned.Sensor
	// Patience is how long Serve lets the board's time stand still, after a
	// frame from it, until its host answers; 0 lets it run on, as a real
	// board's does.
	Patience time.Duration
	// Bridge is the way from Serve's pseudo-terminal to the board; nil is none. It
	// moves bytes at the milliseconds of the board's time.
	Bridge *bridge.Bridge
	// Watch, when set, is told every change of an output pin, in the order of
	// their ticks. It is called from within Read and RunUntil and must not call
	// the board.
	Watch func(pin Pin, tick int64, high bool)
}

// Board is an emulated board, switched on at tick 0. Its methods may be called
// from several goroutines, but only calls in a fixed order give a fixed run.
type Board struct {
	mu      sync.Mutex
	options Options
	harness *harness
	bit     uint32 // the host's bit time in 1/256 tick
	now     int64
	lines   lines
	wires   Wires
	fall    int64 // end of the governor's pulse under way; the end of time when none is
	sensor  sensing
	unread  []byte
	err     error // the board is of no more use
}

// Open starts the harness and switches the board on.
func Open(options Options) (*Board, error) {
	if options.Baud == 0 {
		options.Baud = 500_000
	}
	if options.Baud < 0 || options.Baud > TickHz {
		return nil, fmt.Errorf("cannot talk at %d Bd", options.Baud)
	}
	h, err := startHarness(options.Harness, options.Firmware)
	if err != nil {
		return nil, err
	}
	b := &Board{options: options, harness: h, bit: bitTime(options.Baud)}
	b.joinGovernor()
	b.joinSensor()
	b.join(Wires{options.Governor, options.Jumpers, options.Turned})
	return b, nil
}

// bitTime is the time of a bit in 1/256 tick.
func bitTime(baud int) uint32 { return uint32((TickHz*256 + int64(baud)/2) / int64(baud)) }

// SetBaud changes the speed of the host's end of the wire.
func (b *Board) SetBaud(baud int) error {
	if baud < 1 || baud > TickHz {
		return fmt.Errorf("cannot talk at %d Bd", baud)
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	b.bit = bitTime(baud)
	return b.err
}

// Now is the board's present tick.
func (b *Board) Now() int64 {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.now
}

// Write puts bytes on the wire to the board, one after the other, after the
// host delay or when the wire is free.
func (b *Board) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	const most = 1 << 12
	for rest := p; len(rest) > 0 && b.err == nil; {
		n := min(len(rest), most)
		b.send('S', b.now+b.options.HostDelayTicks, b.bit, uint16(n), rest[:n])
		rest = rest[n:]
	}
	if b.err != nil {
		return 0, b.err
	}
	return len(p), nil
}

// Read runs the board until a zero byte, which ends a frame, has left it, and
// gives what was sent. When nothing was within a second of the board's time
// the error is os.ErrDeadlineExceeded.
func (b *Board) Read(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if len(b.unread) == 0 && len(p) > 0 {
		b.run(b.now+readLimitTicks, true)
		if b.err == nil && len(b.unread) == 0 {
			return 0, os.ErrDeadlineExceeded
		}
	}
	if b.err != nil {
		return 0, b.err
	}
	n := copy(p, b.unread)
	b.unread = append(b.unread[:0], b.unread[n:]...)
	return n, nil
}

// RunUntil runs the board up to a tick. What it sends is kept for Read. A tick
// that is past changes nothing.
func (b *Board) RunUntil(tick int64) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.run(tick, false)
	return b.err
}

// Reset pulses the reset pin. The board takes its start-up time of 65 ms.
func (b *Board) Reset() error {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.send('X')
	return b.err
}

// Close switches the board off and ends the harness.
func (b *Board) Close() error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.harness != nil {
		b.harness.stop()
		b.harness, b.err = nil, os.ErrClosed
	}
	return nil
}

var _ io.ReadWriteCloser = (*Board)(nil)

// send passes a command on, unless the board is of no more use.
func (b *Board) send(command byte, fields ...any) {
	if b.err == nil {
		b.fail(b.harness.send(command, fields...))
	}
}

// fail takes note of an error, if it is the first.
func (b *Board) fail(err error) {
	if err == nil || b.err != nil {
		return
	}
	b.err = err
}

// run runs the board up to a tick, or to the end of the next frame if so
// wanted, stopping on the way wherever something on the lines is due.
func (b *Board) run(until int64, frame bool) {
	for b.err == nil && b.now < until {
		target := min(until, max(b.now, b.due()))
		done := b.stretch(target, frame)
		if b.err == nil {
			b.act()
		}
		if done {
			return
		}
	}
}

// stretch runs the board in one go and takes in what it tells. It says whether
// a frame has ended.
func (b *Board) stretch(target int64, frame bool) bool {
	stop := byte(0)
	if frame {
		stop = 1
	}
	b.send('R', target, stop)
	if b.err == nil {
		b.fail(b.harness.flush())
	}
	ended := false
	for b.err == nil {
		e, err := b.harness.event()
		if err != nil {
			b.fail(err)
			return false
		}
		if e.kind == 'd' {
			b.now = e.tick
			return frame && ended
		}
		ended = b.told(e) || ended
	}
	return false
}

// told takes in one event. It says whether that was the end of a frame.
func (b *Board) told(e event) bool {
	switch e.kind {
	case 'p':
		b.pins(e)
	case 'b':
		b.unread = append(b.unread, b.heard(e.data[0], int64(e.data[1])|int64(e.data[2])<<8))
		return e.data[0] == 0
	}
	return false
}

// heard is what the host makes of a byte whose bits are so many ticks long. At
// another speed than the host's, by more than a 25th, it is another byte; which
// one is not modelled, but that no frame comes of it is.
func (b *Board) heard(value byte, bit int64) byte {
	if off := bit*256 - int64(b.bit); off*25 > int64(b.bit) || off*25 < -int64(b.bit) {
		return value | 0x80
	}
	return value
}
