package pickup

import (
	"errors"
	"fmt"
	"math"
)

// Direction names one of the three directions at the closest pass of a magnet
// and the sensor.
type Direction string

// The three directions at the closest pass.
const (
	// Gapwise runs from the magnet to the sensor, across the gap.
	Gapwise Direction = "gap"
	// Travelwise runs the way the magnet moves.
	Travelwise Direction = "travel"
	// Crosswise is square to both: along the shaft when the sensor looks at
	// the rim, along the radius when it looks at the face.
	Crosswise Direction = "cross"
)

// Placement tells where the sensor sits.
type Placement string

// Where a sensor can sit.
const (
	// Rim has the sensor outside the magnets' circle; the gap is radial.
	Rim Placement = "rim"
	// Face has the sensor beside the disc that carries the magnets; the gap
	// runs along the shaft.
	Face Placement = "face"
)

// Pole is a magnet's pole.
type Pole string

// The poles.
const (
	North Pole = "north"
	South Pole = "south"
)

// Pattern tells how several magnets are polarised around the turn.
type Pattern string

// Polarity patterns.
const (
	// Same has every magnet the same way round.
	Same Pattern = "same"
	// Alternating turns every second magnet over; the count must be even.
	Alternating Pattern = "alternating"
)

// Kind is how a Hall switch answers to the field.
type Kind string

// Kinds of Hall switch.
const (
	// Unipolar operates on one pole only: Bop > Brp > 0.
	Unipolar Kind = "unipolar"
	// Latch operates on one pole and releases on the other: Bop > 0 > Brp.
	Latch Kind = "latch"
	// Omnipolar operates on either pole: |B| > Bop > Brp > 0.
	Omnipolar Kind = "omnipolar"
)

// Params describe a pickup. Lengths are metres, fields tesla.
type Params struct {
	Magnet Magnet
	// Count is how many magnets stand evenly around the turn, 1 to 64.
	Count int
	// Pattern tells their polarity around the turn.
	Pattern Pattern
	// Radius is that of the circle on which the magnets' centres run, > 0.
	Radius float64
	// Axis is the direction of the magnet's own axis, pole to pole.
	Axis Direction
	// Pole is the one that looks at the sensor (Axis Gapwise), leads the way
	// (Travelwise), or looks to the positive cross direction (Crosswise).
	Pole Pole

	// Placement tells whether the sensor looks at the rim or at the face.
	Placement Placement
	// Gap is the air between the magnet and the sensor's face at the closest
	// pass, > 0.
	Gap float64
	// Offset is how far the sensor sits beside the magnet's path, along the
	// cross direction. Its sign does not matter to most set-ups.
	Offset float64
	Sensor Sensor
}

// Magnet is a cylinder magnetised along its axis.
type Magnet struct {
	Diameter  float64 // m, > 0
	Length    float64 // m, > 0
	Remanence float64 // Br in T, above 0 and at most 1.6 (N35 is about 1.2)
}

// Sensor is a planar Hall switch. It feels only the field square to its face.
type Sensor struct {
	Kind Kind
	// Normal is the direction that the sensor's face looks along: Gapwise when
	// the face looks at the magnet, Travelwise or Crosswise when the sensor is
	// turned a quarter.
	Normal Direction
	// Back is set when the sensor's plain back, not its branded face, looks at
	// the magnet (or ahead, or along positive cross).
	Back bool
	// Depth is how far the sensing element lies below the branded face, m, >= 0.
	Depth float64
	// Operate and Release are the switching points. Positive is a south pole
	// at the branded face.
	Operate, Release Point
}

// Point is a switching point in T: what a typical part does, and the part that
// needs most: the largest operate point, the smallest release point.
type Point struct {
	Typical, Worst float64
}

// Validate tells what makes the pickup unusable, all at once.
func (p Params) Validate() error {
	errs := []error{
		p.Magnet.Validate(),
		p.Sensor.Validate(),
		oneOf("polarity pattern", p.Pattern, Same, Alternating),
		oneOf("magnet axis", p.Axis, Gapwise, Travelwise, Crosswise),
		oneOf("pole", p.Pole, North, South),
		oneOf("placement", p.Placement, Rim, Face),
		positive("radius", p.Radius, "m"),
		positive("gap", p.Gap, "m"),
	}
	if p.Count < 1 || p.Count > 64 {
		errs = append(errs, fmt.Errorf("pickup: number of magnets must lie between 1 and 64, is %d", p.Count))
	}
	if p.Pattern == Alternating && p.Count%2 != 0 {
		errs = append(errs, fmt.Errorf("pickup: alternating poles need an even number of magnets, not %d", p.Count))
	}
	if !(math.Abs(p.Offset) < math.Inf(1)) {
		errs = append(errs, fmt.Errorf("pickup: offset must be a number, is %v", p.Offset))
	}
	return errors.Join(errs...)
}

// Validate tells what makes the magnet unusable.
func (m Magnet) Validate() error {
	errs := []error{
		positive("magnet diameter", m.Diameter, "m"),
		positive("magnet length", m.Length, "m"),
		positive("remanence", m.Remanence, "T"),
	}
	if m.Remanence > 1.6 {
		errs = append(errs, fmt.Errorf("pickup: remanence must be at most 1.6 T, is %v", m.Remanence))
	}
	return errors.Join(errs...)
}

// Validate tells what makes the sensor unusable.
func (s Sensor) Validate() error {
	errs := []error{
		oneOf("kind of sensor", s.Kind, Unipolar, Latch, Omnipolar),
		oneOf("sensor direction", s.Normal, Gapwise, Travelwise, Crosswise),
		positive("operate point", s.Operate.Typical, "T"),
	}
	if !(s.Depth >= 0 && s.Depth < 0.01) {
		errs = append(errs, fmt.Errorf("pickup: depth of the sensing element must lie between 0 and 0.01 m, is %v", s.Depth))
	}
	if !(s.Operate.Worst >= s.Operate.Typical) {
		errs = append(errs, fmt.Errorf("pickup: largest operate point %v T is below the typical one, %v T", s.Operate.Worst, s.Operate.Typical))
	}
	if !(s.Release.Worst <= s.Release.Typical) {
		errs = append(errs, fmt.Errorf("pickup: smallest release point %v T is above the typical one, %v T", s.Release.Worst, s.Release.Typical))
	}
	return errors.Join(append(errs, s.release())...)
}

func (s Sensor) release() error {
	switch {
	case s.Kind == Latch && !(s.Release.Typical < 0):
		return fmt.Errorf("pickup: a latch releases below zero, not at %v T", s.Release.Typical)
	case s.Kind != Latch && !(s.Release.Worst > 0):
		return fmt.Errorf("pickup: a %s switch releases above zero, not at %v T", s.Kind, s.Release.Worst)
	case !(s.Release.Typical < s.Operate.Typical):
		return fmt.Errorf("pickup: release point %v T must lie below the operate point, %v T", s.Release.Typical, s.Operate.Typical)
	}
	return nil
}

func positive(name string, v float64, unit string) error {
	if v > 0 && !math.IsInf(v, 1) {
		return nil
	}
	return fmt.Errorf("pickup: %s must be above zero, is %v %s", name, v, unit)
}

func oneOf[T ~string](name string, v T, all ...T) error {
	for _, each := range all {
		if v == each {
			return nil
		}
	}
	return fmt.Errorf("pickup: %s must be one of %q, is %q", name, all, v)
}
