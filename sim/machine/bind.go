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
func (k *checker) bind(m *Machine) {
	k.checkOrder(m)
	if k.Faults() > 0 {
		return
	}
	m.linkage, m.pickup = m.linkageParams(), m.pickupParams()
	if m.Linkage.Rod == nil {
		k.assumeSquareRod(m)
	}
	m.heli = heli.Params{
		Servo: m.servoParams(), Engine: m.engineParams(), Drive: m.driveParams(), Rotor: m.rotorParams(),
		Throttle: k.throttle(m),
	}
	var err error
	if m.heli.Air, err = m.airParams(); err != nil {
		k.Fail("air.altitude", err.Error(), "check the altitude")
	}
	if k.Faults() > 0 {
		return
	}
	k.parts(m)
	if k.Faults() == 0 {
		k.checkSpeeds(m)
		k.checkBlades(m)
		k.checkFrames(m)
		k.checkSelect(m)
		k.checkPower(m)
		k.checkPulses(m)
	}
}

// throttle is the open share over the servo's pulse width, or nil after a
// fault.
func (k *checker) throttle(m *Machine) []float64 {
	l, err := linkage.New(m.linkage)
	if err != nil {
		k.partFault(err, "throttle_linkage")
		return nil
	}
	table, err := l.Table(tablePoints)
	if err != nil {
		k.partFault(err, "throttle_linkage")
		return nil
	}
	if m.Servo.ClosedPulse > m.Servo.OpenPulse {
		slices.Reverse(table)
	}
	return table
}

// parts lets each simulated part check its own parameters. The ranges of the
// keys are at least as narrow, so what is left to find lies between keys.
func (k *checker) parts(m *Machine) {
	k.partFault(m.heli.Air.Validate(), "air")
	k.partFault(m.heli.Servo.Validate(), "throttle_servo")
	k.partFault(m.heli.Engine.Validate(), "engine")
	k.partFault(m.heli.Drive.Validate(), "gears")
	k.partFault(m.heli.Rotor.Validate(), "main_rotor")
	k.partFault(m.heli.Validate(), "throttle_linkage")
	k.partFault(m.pickup.Validate(), "pickup")
	const anyRate = 1e6
	k.partFault(m.GovernorParams(anyRate).Validate(), "stand_in")
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
func (k *checker) partFault(err error, section string) {
	if err == nil || k.Faults() > 0 {
		return
	}
	var reach *linkage.ReachError
	var toggle *linkage.ToggleError
	var outside *bound.Error
	switch {
	case errors.As(err, &reach):
		k.reachFault(reach)
	case errors.As(err, &toggle):
		k.Fail("throttle_linkage.rod_length", fmt.Sprintf("rod and carburettor arm stand in line with the servo arm at %s, where the arm may snap to either side",
			degrees(toggle.ServoAngle)), "change the rod, the arms or the travel")
	case errors.As(err, &outside):
		k.Fail(cause(outside.Field, section), fmt.Sprintf("%s comes out as %.3g %s", outside.Field, outside.Value, outside.Unit),
			fmt.Sprintf("it runs from %.3g to %.3g", outside.Low, outside.High))
	default:
		k.Fail(section, err.Error(), "change these values so that they fit each other")
	}
}

func (k *checker) reachFault(reach *linkage.ReachError) {
	size, remedy := "long", "a shorter rod, or less travel"
	if reach.TooShort {
		size, remedy = "short", "a longer rod, or less travel"
	}
	k.Fail("throttle_linkage.rod_length",
		fmt.Sprintf("the rod is too %s to go round with the servo arm at %s", size, degrees(reach.ServoAngle)), remedy)
}
