package machine

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"govrig/sim/bound"
	"govrig/sim/heli"
	"govrig/sim/linkage"
)

// tablePoints is the length of the throttle table over the servo's travel.
const tablePoints = 257

// bind checks the values against each other and makes the parameters of the
// simulated parts from them.
func (d *decoder) bind(m *Machine) {
	d.checkOrder(m)
	if len(d.faults) > 0 {
		return
	}
	m.linkage, m.pickup = m.linkageParams(), m.pickupParams()
	if m.Linkage.Rod == nil {
		d.assumeSquareRod(m)
	}
	m.heli = heli.Params{
		Servo: m.servoParams(), Engine: m.engineParams(), Drive: m.driveParams(), Rotor: m.rotorParams(),
		Throttle: d.throttle(m),
	}
	var err error
	if m.heli.Air, err = m.airParams(); err != nil {
		d.failPath("air.altitude", err.Error(), "check the altitude")
	}
	if len(d.faults) > 0 {
		return
	}
	d.parts(m)
	if len(d.faults) == 0 {
		d.checkSpeeds(m)
		d.checkBlades(m)
		d.checkFrames(m)
		d.checkSelect(m)
		d.checkPower(m)
		d.checkPulses(m)
	}
}

// throttle is the open share over the servo's pulse width, or nil after a
// fault.
func (d *decoder) throttle(m *Machine) []float64 {
	l, err := linkage.New(m.linkage)
	if err != nil {
		d.partFault(err, "throttle_linkage")
		return nil
	}
	table, err := l.Table(tablePoints)
	if err != nil {
		d.partFault(err, "throttle_linkage")
		return nil
	}
	if m.Servo.ClosedPulse > m.Servo.OpenPulse {
		slices.Reverse(table)
	}
	return table
}

// parts lets each simulated part check its own parameters. The ranges of the
// keys are at least as narrow, so what is left to find lies between keys.
func (d *decoder) parts(m *Machine) {
	d.partFault(m.heli.Air.Validate(), "air")
	d.partFault(m.heli.Servo.Validate(), "throttle_servo")
	d.partFault(m.heli.Engine.Validate(), "engine")
	d.partFault(m.heli.Drive.Validate(), "gears")
	d.partFault(m.heli.Rotor.Validate(), "main_rotor")
	d.partFault(m.heli.Validate(), "throttle_linkage")
	d.partFault(m.pickup.Validate(), "pickup")
	const anyRate = 1e6
	d.partFault(m.GovernorParams(anyRate).Validate(), "stand_in")
}

// cause is the key to look at first when a value that several keys make, named
// by the part that checks it, is out of its range.
func cause(field, section string) string {
	switch {
	case strings.HasPrefix(field, "run-up time"):
		return "engine.inertia"
	case strings.HasPrefix(field, "share of the intake"):
		return "engine.idle_speed"
	case strings.HasPrefix(field, "friction pressure"), strings.HasPrefix(field, "FrictionSquare"):
		return "engine.friction_pressure_at_peak"
	}
	return section
}

// partFault reports an error of a simulated part at the section it comes from.
func (d *decoder) partFault(err error, section string) {
	if err == nil || len(d.faults) > 0 {
		return
	}
	var reach *linkage.ReachError
	var toggle *linkage.ToggleError
	var outside *bound.Error
	switch {
	case errors.As(err, &reach):
		d.reachFault(reach)
	case errors.As(err, &toggle):
		d.failPath("throttle_linkage.rod_length", fmt.Sprintf("rod and carburettor arm stand in line with the servo arm at %s, where the arm may snap to either side",
			degrees(toggle.ServoAngle)), "change the rod, the arms or the travel")
	case errors.As(err, &outside):
		d.failPath(cause(outside.Field, section), fmt.Sprintf("%s comes out as %.3g %s", outside.Field, outside.Value, outside.Unit),
			fmt.Sprintf("it runs from %.3g to %.3g", outside.Low, outside.High))
	default:
		d.failPath(section, err.Error(), "change these values so that they fit each other")
	}
}

func (d *decoder) reachFault(reach *linkage.ReachError) {
	size, remedy := "long", "a shorter rod, or less travel"
	if reach.TooShort {
		size, remedy = "short", "a longer rod, or less travel"
	}
	d.failPath("throttle_linkage.rod_length",
		fmt.Sprintf("the rod is too %s to go round with the servo arm at %s", size, degrees(reach.ServoAngle)), remedy)
}
