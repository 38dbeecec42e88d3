package emulator

import "govrig/sim/standin/governor"

// Pin is a pin of the board's chip.
type Pin struct {
	Port byte // 'B', 'C' or 'D'
	Bit  byte
}

// The pins of the lines, as the firmware has them.
var (
	ThrottlePin = Pin{'B', 0} // input capture
	PickupPin   = Pin{'B', 1} // OC1A
	StickPin    = Pin{'B', 2} // OC1B
	SelectPin   = Pin{'B', 3} // OC2A
)

// Line tells which of the governor's inputs a pin plays, if any.
func (p Pin) Line() (line governor.Line, ok bool) {
	switch p {
	case PickupPin:
		return governor.Pickup, true
	case StickPin:
		return governor.Stick, true
	case SelectPin:
		return governor.Select, true
	}
	return 0, false
}

// ProbeChannel is the analogue input that the pickup probe is wired to: AIN1.
const ProbeChannel = 9

// LevelChannel is the converter's input that is joined to the probe: ADC0.
const LevelChannel = 0

// lines remembers what stands on the output pins: PORT where DDR is set.
type lines struct {
	out [3]byte
}

func (l *lines) high(p Pin) bool { return l.out[p.Port-'B']>>p.Bit&1 != 0 }

// Drive holds an input pin at a level from a tick on, which must not be past.
func (b *Board) Drive(pin Pin, tick int64, high bool) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.drive(pin, tick, high)
	return b.err
}

func (b *Board) drive(pin Pin, tick int64, high bool) {
	level := uint16(0)
	if high {
		level = 1
	}
	b.send('I', tick, pin.Port, pin.Bit, level)
}

// Millivolts holds an analogue input at a level from a tick on: channel 0 to 7
// of the converter, or ProbeChannel.
func (b *Board) Millivolts(channel byte, tick int64, level uint16) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.send('I', tick, byte('A'), channel, level)
	return b.err
}

// pins takes in what stands on a port. A pin that is no output reads low, as
// the governor's end of the line pulls it.
func (b *Board) pins(e event) {
	port, out := e.data[0], e.data[2]
	changed := b.lines.out[port-'B'] ^ out
	b.lines.out[port-'B'] = out
	for bit := byte(0); bit < 8; bit++ {
		if changed>>bit&1 != 0 {
			b.edge(Pin{port, bit}, e.tick, out>>bit&1 != 0)
		}
	}
}

func (b *Board) edge(pin Pin, tick int64, high bool) {
	if b.options.Watch != nil {
		b.options.Watch(pin, tick, high)
	}
	if line, ok := pin.Line(); ok && b.wires.Governor != nil {
		b.wires.Governor.Edge(line, tick, high)
	}
}
