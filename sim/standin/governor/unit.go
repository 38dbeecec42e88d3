package governor

// Unit is a governor on a board's lines, whoever built it: what it is told, and
// what it puts on the throttle line. Moments are ticks that grow without
// wrapping.
type Unit interface {
	// Edge tells it that a line changed to high or low at tick. Edges come in
	// the order of their ticks, and none after the tick of the next frame
	// before Frame is called.
	Edge(line Line, tick int64, high bool)
	// NextFrame is the tick at which the next throttle pulse starts.
	NextFrame() int64
	// Frame has the throttle pulse begin that starts at NextFrame, and gives its
	// leading edge and its width, in ticks. A width of 0 is no pulse.
	Frame() (rise, width int64)
}

// Knob is a Unit with a gain that a procedure can turn.
type Knob interface {
	Unit
	// Turn turns the gain knob up by some clicks, or down by negative ones.
	Turn(clicks float64)
}

// Dial is a Unit whose speed a procedure can set at the unit itself.
type Dial interface {
	Unit
	// Dial sets the speed, rad/s of the engine.
	Dial(speed float64)
}

// Supply is a Unit that a procedure can switch off and on again.
type Supply interface {
	Unit
	// Restart switches it off now, and on again after the given time, s.
	Restart(off float64)
}
