package board

import (
	"math"

	"govrig/protocol"
	"govrig/sim/standin/governor"
)

// Input is a line that the board can time.
type Input uint8

// The board's inputs.
const (
	Throttle Input = iota
	Probe
)

// Jumper is a wire from one of the board's outputs to one of its inputs.
type Jumper struct {
	From governor.Line
	To   Input
	// Inverted has a transistor in the wire, which turns the level over.
	Inverted bool
}

// longestTicks is the longest pulse that is timed.
const longestTicks = 1<<24 - 1

// capture times pulses on one of the inputs.
type capture struct {
	high    [2]bool // levels of the inputs
	input   Input
	low     bool // low pulses on a high line are timed
	inPulse bool
	start   int64
}

func (c *capture) configure(options uint8) {
	c.input, c.low, c.inPulse = Throttle, options&protocol.OptionCaptureLow != 0, false
	if options&protocol.OptionCaptureProbe != 0 {
		c.input = Probe
	}
}

// edge takes in the level of an input from tick on.
func (c *capture) edge(input Input, tick int64, high bool, status *status) {
	if c.high[input] == high {
		return
	}
	c.high[input] = high
	switch {
	case input != c.input:
	case high != c.low:
		c.inPulse, c.start = true, tick
	case c.inPulse:
		c.inPulse = false
		status.capture(c.start, tick-c.start)
	}
}

// capture keeps a pulse for the next telemetry, if there is room.
func (s *status) capture(start, width int64) {
	if s.pulses == protocol.MaxPulses || width > longestTicks {
		s.lost++
		return
	}
	s.captured[s.pulses] = protocol.Pulse{StartTicks: low24(start), WidthTicks: low24(width)}
	s.pulses++
}

func low24(tick int64) uint32 { return uint32(tick) & 0xFFFFFF }

// inputs are the edges on their way into the board from what is on its lines.
type inputs struct {
	rise, fall int64 // the governor's throttle pulse
	probe      int64 // next edge of the turned sensor
	probeHigh  bool
	turned     int64 // when it began to be turned; never before
}

func (i *inputs) next() int64 { return min(i.rise, i.fall, i.probe) }

// listen takes in the edges that are due now.
func (b *Board) listen() {
	i := &b.inputs
	if i.rise <= b.now {
		b.capture.edge(Throttle, i.rise, true, &b.session.status)
		i.rise = never
	}
	if i.fall <= b.now {
		b.capture.edge(Throttle, i.fall, false, &b.session.status)
		i.fall = never
	}
	if i.probe <= b.now {
		b.probe(i.probe, b.options.Turned.Volts(i.probeHigh))
		b.turn()
	}
}

// startTurning begins to turn the sensor when it is first listened to.
func (b *Board) startTurning() {
	if b.options.Turned != nil && b.capture.input == Probe && b.inputs.turned == never {
		b.inputs.turned = b.now
		b.turn()
	}
}

// turn looks up the turned sensor's next edge.
func (b *Board) turn() {
	b.inputs.probe = never
	if time, high, ok := b.options.Turned.Next(); ok {
		b.inputs.probe, b.inputs.probeHigh = b.inputs.turned+int64(math.Round(time*TickHz)), high
	}
}

// jump puts an output's level on the inputs that a jumper joins to it.
func (b *Board) jump(line governor.Line, high bool) {
	for _, j := range b.options.Jumpers {
		if j.From == line {
			b.capture.edge(j.To, b.now, high != j.Inverted, &b.session.status)
		}
	}
}
