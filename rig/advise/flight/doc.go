// Package flight lays a load step of the bench beside one of a flight, and says
// what the difference says about the machine file.
//
// What a difference means follows from the rotor's equation of motion, J·dω/dt = ΔQ
// (any text-book of mechanics): right after the load came on, before the governor
// has answered, the speed falls at ΔQ/J. A slower first slope is more inertia, or
// less load; a deeper dip with the same slope is less torque from the engine for
// the same throttle. The values that would make bench and flight agree are found
// by playing the load step of the machine file with other values until depth and
// slope have changed by the same factors as from bench to flight. The governor of
// these plays is the stand-in: the factors, not the dips, are taken from it.
package flight
