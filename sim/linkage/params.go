package linkage

import (
	"errors"
	"fmt"
	"math"
)

// Params describe a throttle linkage and its rotary-barrel carburettor.
// Lengths are metres, angles radians.
//
// Angles are measured in the plane of the linkage, from the line that runs
// from the servo's shaft to the carburettor arm's pivot, positive
// anticlockwise. An arm at π/2 stands square to that line.
type Params struct {
	// ServoArm is the distance from the servo's shaft to the rod's ball, > 0.
	ServoArm float64
	// CarbArm is the distance from the barrel's pivot to the rod's ball, > 0.
	CarbArm float64
	// Pivots is the distance from the servo's shaft to the barrel's pivot, more
	// than ServoArm.
	Pivots float64
	// Rod is the length of the rod between ball centres, > 0. SquareRod gives
	// the length that puts both arms square at mid travel.
	Rod float64
	// Crossed is set when the arms stand on opposite sides of the line between
	// the pivots, so that the rod crosses it.
	Crossed bool

	// ServoMid is the servo arm's angle at mid travel; π/2 is square.
	ServoMid float64
	// Travel is how far the servo arm turns from mid travel to the open end.
	// Positive turns it away from the carburettor, negative toward it. The
	// closed end lies as far on the other side.
	Travel float64
	// CarbOpen is the carburettor arm's angle at which the barrel stands fully
	// open, its hole in line with the bore.
	CarbOpen float64

	Barrel Barrel
}

// Barrel is the rotary barrel of a carburettor: a cylinder across the bore,
// with a cross hole that lines up with the bore when it is open. Diameters in
// metres.
type Barrel struct {
	// Diameter is the barrel's own, > Bore and > Hole.
	Diameter float64
	// Bore is the diameter of the air passage, > 0.
	Bore float64
	// Hole is the diameter of the barrel's cross hole, > 0; most often the same
	// as the bore.
	Hole float64
}

// Validate tells what makes the geometry unusable, all at once. It checks each
// value by itself; whether the arms reach is found by New.
func (p Params) Validate() error {
	errs := []error{
		positive("servo arm", p.ServoArm),
		positive("carburettor arm", p.CarbArm),
		positive("distance between pivots", p.Pivots),
		positive("rod", p.Rod),
		within("servo arm's angle at mid travel", p.ServoMid, -math.Pi, math.Pi),
		within("servo travel", p.Travel, -math.Pi/2, math.Pi/2),
		within("carburettor arm's angle at fully open", p.CarbOpen, -math.Pi, math.Pi),
		p.Barrel.Validate(),
	}
	if p.Travel == 0 {
		errs = append(errs, errors.New("linkage: servo travel is zero"))
	}
	if p.Pivots <= p.ServoArm {
		errs = append(errs, fmt.Errorf("linkage: distance between pivots %.4g m must be larger than the servo arm, %.4g m", p.Pivots, p.ServoArm))
	}
	return errors.Join(errs...)
}

// Validate tells what makes the barrel unusable.
func (b Barrel) Validate() error {
	errs := []error{
		positive("barrel diameter", b.Diameter),
		positive("bore", b.Bore),
		positive("barrel hole", b.Hole),
	}
	if hole := math.Max(b.Bore, b.Hole); b.Diameter > 0 && b.Diameter <= hole {
		errs = append(errs, fmt.Errorf("linkage: barrel diameter %.4g m must be larger than its hole and bore, %.4g m", b.Diameter, hole))
	}
	return errors.Join(errs...)
}

func positive(name string, v float64) error {
	if v > 0 && !math.IsInf(v, 1) {
		return nil
	}
	return fmt.Errorf("linkage: %s must be above zero, is %v m", name, v)
}

func within(name string, v, lo, hi float64) error {
	if v >= lo && v <= hi {
		return nil
	}
	return fmt.Errorf("linkage: %s must lie between %.4g and %.4g rad, is %v", name, lo, hi, v)
}
