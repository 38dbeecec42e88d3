package pickup

import (
	"fmt"
	"math"
	"slices"

	"govrig/sim/bound"
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
	// Count is how many magnets stand evenly around the turn, 1 or more.
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

	// Placement reports whether the sensor looks at the rim or at the face.
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
	Remanence float64 // Br in T, above 0 (N35 is about 1.2)
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
	// Depth is how far the sensing element lies behind the surface that looks
	// at the magnet, m, 0 or more.
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

// Validate reports the first field outside its range, as a *bound.Error, or a
// word that is not one of those above.
func (p Params) Validate() error {
	err := bound.Of("pickup").
		Positive("Count", float64(p.Count), "").
		Positive("Radius", p.Radius, "m").
		Positive("Gap", p.Gap, "m").
		Field("Offset", p.Offset, -p.Radius, p.Radius, "m").
		Err()
	if err == nil && p.Pattern == Alternating && p.Count%2 != 0 {
		err = fmt.Errorf("alternating poles need an even number of magnets, not %d", p.Count)
	}
	return first(
		err,
		oneOf("Pattern", p.Pattern, Same, Alternating),
		oneOf("Axis", p.Axis, Gapwise, Travelwise, Crosswise),
		oneOf("Pole", p.Pole, North, South),
		oneOf("Placement", p.Placement, Rim, Face),
		p.Magnet.Validate(),
		p.Sensor.Validate(),
	)
}

// Validate reports the first field outside its range, as a *bound.Error.
func (m Magnet) Validate() error {
	return bound.Of("pickup").
		Positive("Magnet.Diameter", m.Diameter, "m").
		Positive("Magnet.Length", m.Length, "m").
		Positive("Magnet.Remanence", m.Remanence, "T").
		Err()
}

// Validate reports the first field outside its range, as a *bound.Error, or a
// word that is not one of those above.
func (s Sensor) Validate() error {
	low, high := math.SmallestNonzeroFloat64, 0.999*s.Operate.Typical
	if s.Kind == Latch {
		low, high = -math.MaxFloat64, -math.SmallestNonzeroFloat64
	}
	return first(
		oneOf("Sensor.Kind", s.Kind, Unipolar, Latch, Omnipolar),
		oneOf("Sensor.Normal", s.Normal, Gapwise, Travelwise, Crosswise),
		bound.Of("pickup").
			NotNegative("Sensor.Depth", s.Depth, "m").
			Positive("Sensor.Operate.Typical", s.Operate.Typical, "T").
			Field("Sensor.Operate.Worst", s.Operate.Worst, s.Operate.Typical, math.MaxFloat64, "T").
			Field("Sensor.Release.Typical", s.Release.Typical, low, high, "T").
			Field("Sensor.Release.Worst", s.Release.Worst, low, s.Release.Typical, "T").
			Err(),
	)
}

func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

func oneOf[T ~string](field string, v T, all ...T) error {
	if slices.Contains(all, v) {
		return nil
	}
	return fmt.Errorf("%s must be one of %q, is %q", field, all, v)
}
