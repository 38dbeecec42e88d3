package finding

import "govrig/sim/machine"

// Thresholds are the sticks, shares of the travel, at which a governor engages and
// disengages.
type Thresholds struct{ Arm, Disarm float64 }

// leastStickMargin is how far, a share of the travel, a stick has to be from a
// threshold to be on its side for sure: a transmitter's drift, trim and a governor
// in heat (our own).
const leastStickMargin = 0.03

// CurveKind is what a throttle curve does to a governor.
type CurveKind int

// What a curve does.
const (
	// KeepsGoverning: it engages, and no point of it comes near disarming.
	KeepsGoverning CurveKind = iota
	// NeverEngages: no point of it is above the arming threshold.
	NeverEngages
	// Disengages: its lowest point is below the disarming threshold, or too near.
	Disengages
)

// Curve is what a throttle curve does, and at which share of the travel its lowest
// point lies.
type Curve struct {
	Kind   CurveKind
	Lowest float64
}

// CurveOf judges the sticks, shares of the travel, of a flight mode that is flown
// governed.
func CurveOf(sticks []float64, t Thresholds) (c Curve) {
	highest := sticks[0]
	c.Lowest = sticks[0]
	for _, s := range sticks {
		c.Lowest, highest = min(c.Lowest, s), max(highest, s)
	}
	switch {
	case highest < t.Arm+leastStickMargin:
		c.Kind = NeverEngages
	case c.Lowest < t.Disarm+leastStickMargin:
		c.Kind = Disengages
	}
	return c
}

// LetsGo reports whether a stick, a share of the travel, disengages for sure.
func (t Thresholds) LetsGo(stick float64) bool { return stick < t.Disarm-leastStickMargin }

// FramesBeyond reports whether frames come more often, 1/s, than a servo is made
// for, and how often that is; 0 is not known, and says nothing. A tenth more is
// about as often.
func FramesBeyond(rate float64, servo *machine.Servo) (greatest float64, beyond bool) {
	const about = 1.1
	greatest = servo.GreatestFrameRate()
	return greatest, greatest > 0 && rate > about*greatest
}
