// Package sim holds the contract between the rig and whatever it simulates.
//
// A plant owns no clock and does no I/O. It moves by one fixed step at a time;
// a moment is the integer index of a step, never a sum of floating-point
// times, so two runs that take the same inputs give the same bits.
package sim

// Input acts on a plant for the whole of one step.
type Input struct {
	// ThrottlePulse is the width of the newest pulse on the throttle line, in
	// seconds. Zero means that none has come yet: the servo stays where it is.
	ThrottlePulse float64
	// Collective is the blade pitch of the main rotor at 0.75 R, in radians.
	// It is the load: more pitch takes more torque at the same speed.
	Collective float64
	// Climb is the axial speed of the rotor through the air, in m/s, positive
	// up. Zero is a hover.
	Climb float64
	// Turn is the speed, in rad/s, at which a plant without an engine is
	// turned. Others take no notice.
	Turn float64
}

// State is what a plant shows of itself after a step. Speeds are rad/s,
// torques N·m.
type State struct {
	// CrankAngle is the total angle turned since the start, rad. It grows
	// without wrapping.
	CrankAngle float64
	// EngineSpeed is the speed of the crankshaft.
	EngineSpeed float64
	// HeadSpeed is the speed of the main rotor.
	HeadSpeed float64
	// Opening is the share of the carburettor's full open area, 0 to 1.
	Opening float64
	// EngineTorque is the torque at the crankshaft, mean over a revolution.
	EngineTorque float64
	// LoadTorque is what the rotor asks for, at the main shaft.
	LoadTorque float64
}

// Plant is a simulated machine.
type Plant interface {
	// Step moves the plant by one fixed step under in.
	Step(in Input)
	// State tells where the plant is now.
	State() State
	// Fork makes an independent copy. It may allocate.
	Fork() Plant
	// Set makes this plant equal to from, which must be of the same kind and
	// come from the same parameters. It does not allocate.
	Set(from Plant)
}
