package emulator

import (
	"math"
	"slices"

	"govrig/sim/pickup/turned"
	"govrig/sim/standin/board"
	"govrig/sim/standin/governor"
)

// Wires is what is joined to the board's lines.
type Wires struct {
	// Governor sits on the lines; nil leaves the throttle line low. It must
	// have been started at the tick at which it is joined, and is not joined
	// again once it was taken off.
	Governor governor.Unit
	// Jumpers join outputs to inputs, pin to pin. Where one leads to an input,
	// nothing else is heard there.
	Jumpers []board.Jumper
	// Turned is a sensor on the pickup probe, turned from when it is joined;
	// nil leaves the probe at ground.
	Turned *turned.Sensor
}

// ends of a jumper, as the firmware has its lines.
var (
	outputPins = map[governor.Line]Pin{governor.Pickup: PickupPin, governor.Stick: StickPin, governor.Select: SelectPin}
	inputPins  = map[board.Input]Pin{board.Throttle: ThrottlePin, board.Probe: {'A', ProbeChannel}}
)

// Rewire lets change see what is joined, at the present tick, and join
// something else from that tick on. What change leaves as it is goes on
// undisturbed. change must not call the board.
func (b *Board) Rewire(change func(tick int64, w *Wires)) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.err == nil {
		w := b.wires
		w.Jumpers = slices.Clone(w.Jumpers)
		change(b.now, &w)
		b.join(w)
	}
	return b.err
}

// join goes over from the present wires to others.
func (b *Board) join(w Wires) {
	old := b.wires
	b.wires = w
	for _, j := range old.Jumpers {
		if !slices.Contains(w.Jumpers, j) {
			b.jumper(j, 0)
		}
	}
	for _, j := range w.Jumpers {
		if !slices.Contains(old.Jumpers, j) {
			b.jumper(j, 1)
		}
	}
	if w.Governor != old.Governor {
		b.joinGovernor()
	}
	if w.Turned != old.Turned {
		b.joinSensor()
	}
}

// jumper puts a jumper in, or takes it out (in = 0).
func (b *Board) jumper(j board.Jumper, in byte) {
	if in > 0 && j.Inverted {
		in = 2
	}
	from, to := outputPins[j.From], inputPins[j.To]
	b.send('W', b.now, from.Port, from.Bit, to.Port, to.Bit, in)
}

// joinGovernor tells a new governor of the lines that stand high.
func (b *Board) joinGovernor() {
	b.fall = math.MaxInt64
	b.drive(ThrottlePin, b.now, false)
	for _, line := range []governor.Line{governor.Pickup, governor.Stick, governor.Select} {
		if g := b.wires.Governor; g != nil && b.lines.high(outputPins[line]) {
			g.Edge(line, b.now, true)
		}
	}
}

// joinSensor begins to turn a new sensor.
func (b *Board) joinSensor() {
	b.sensor = sensing{start: b.now, next: math.MaxInt64}
	if b.wires.Turned == nil {
		b.probe(b.now, 0)
		return
	}
	b.probe(b.now, b.probeLevel(b.wires.Turned.Idle()))
	b.turn()
}

// sensing is a sensor being turned.
type sensing struct {
	start int64 // when that began
	next  int64 // its next edge; the end of time when none comes
	high  bool
}

// turn looks up the sensor's next edge.
func (b *Board) turn() {
	time, high, ok := b.wires.Turned.Next()
	b.sensor.next, b.sensor.high = math.MaxInt64, high
	if ok {
		b.sensor.next = b.sensor.start + int64(math.Round(time*TickHz))
	}
}

// probe holds the pickup probe at a level, where the comparator and the
// converter hear it.
func (b *Board) probe(tick int64, level uint16) {
	for _, channel := range []byte{ProbeChannel, LevelChannel} {
		b.send('I', tick, byte('A'), channel, level)
	}
}

// probeLevel is the level of the probe, mV.
func (b *Board) probeLevel(high bool) uint16 {
	return uint16(math.Round(1e3 * b.wires.Turned.Volts(high)))
}

// due is when what is joined next does something of itself.
func (b *Board) due() int64 {
	next := min(b.fall, b.sensor.next)
	if g := b.wires.Governor; g != nil {
		next = min(next, g.NextFrame())
	}
	return next
}

// act does what is due.
func (b *Board) act() {
	if b.fall <= b.now {
		b.drive(ThrottlePin, b.fall, false)
		b.fall = math.MaxInt64
	}
	if g := b.wires.Governor; g != nil && g.NextFrame() <= b.now {
		if rise, width := g.Frame(); width > 0 {
			b.drive(ThrottlePin, rise, true)
			b.fall = rise + width
		}
	}
	for b.sensor.next <= b.now {
		b.probe(b.sensor.next, b.probeLevel(b.sensor.high))
		b.turn()
	}
}
