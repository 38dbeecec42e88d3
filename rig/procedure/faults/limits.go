package faults

import (
	"govrig/rig/execution/governed"
	"govrig/sim/machine"
)

// Times, s.
const (
	calmTime   = 0.5  // of holding the speed before a fault
	steadyTime = 1.5  // of the set speed held that shows a governor fit for the next fault
	heldTime   = 3.0  // of it that counts as held again after a fault
	margin     = 2.0  // that a fault is watched for beyond its limit
	lowTime    = 1.5  // of the stick low to let the governor go
	offTime    = 0.5  // that a stand-in governor is off for a restart
	gapTime    = 0.25 // without a stick pulse before a receiver's failsafe
	readyLimit = 30.0 // for the way back to the set speed under heavy load
)

// Limits of our own.
const (
	// shutWithin: at full throttle without load, engine and rotor together gain
	// some ten to twenty per cent of speed in a second.
	shutWithin = 1.0 // s
	// closedWithin is how far above the idle opening a throttle counts as closed,
	// share of the travel: the play of a linkage, and steps of an output.
	closedWithin = 0.02
	// mostIdle is the most that an idle opening can be: with more, no clutch lets
	// go.
	mostIdle = 0.2
	// overspeed is where generator sets are tripped (common practice, no
	// source: 115 to 120 %); the pull on blades and magnets is then 1.44 times
	// that at the wanted speed.
	overspeed = 120 // %
	// unbearable is unsafe whatever the blades: at it the pull is 2.25 times that
	// at the wanted speed.
	unbearable = 150 // %
	// runsAway is the share of the set speed above which an engine that does not
	// slow down runs away.
	runsAway = 1.1
	// heldWithin is how near the set speed the engine has to be to count as held there,
	// a share: twice the tolerance of a load step. A governor that wanders by itself, as
	// with a dead band, may stray twice as far as it did, up to widest.
	heldWithin, widest = 0.02, 0.05
	// wandering is a share of the set speed by which none strays that is governed
	// without a dead band, and wanderTime for how long one that does is looked at, s.
	wandering, wanderTime = 0.006, 16.0
	// nearWanted is how near the wanted speed a governor has to hold the engine
	// under the heavy load, droop and all, as a share.
	nearWanted = 0.2
	// aboveWanted is the same above it: a head that already turns faster tells nothing
	// of what a fault adds.
	aboveWanted = 0.05
	// usualRise and usualRecovery stand in for limits that the machine file
	// leaves out: ISO 8528-5 class G2.
	usualRise     = 12.0 // %
	usualRecovery = 5.0  // s
)

// greatest is the greatest head speed of the blades, rad/s; known is false where
// the machine file does not give it.
func greatest(m *machine.Machine) (head float64, known bool) {
	head = float64(m.Main.GreatestHeadSpeed)
	return head, head > 0
}

// bound is the highest speed that a fault may lead to, and what is known of it.
type bound struct {
	most    float64 // % of the wanted speed
	of      string  // what says so
	doubted float64 // above it nobody can tell without the blades' own limit; 0 is never
}

// blades is the bound of a fault that may well ask for another speed: the blades' own,
// where the machine file has it. Without it, a speed up to that at which an engine is
// tripped is borne, and from there to what no blades bear nobody can tell.
func blades(g *governed.Governor) bound {
	if head, known := greatest(g.Machine); known {
		return bound{most: 100 * head / float64(g.Setting.HeadSpeed), of: "limit: greatest_head_speed of the machine file"}
	}
	return bound{most: unbearable, doubted: overspeed, of: "limit: our own, for want of greatest_head_speed in the machine file"}
}

// within is the bound of a fault that gives no reason for another speed, %: our own,
// or the blades' where that is lower.
func within(g *governed.Governor, most float64) bound {
	if b := blades(g); b.most < most {
		return b
	}
	return bound{most: most, of: "limit: our own"}
}

// limitsOf are the rise, %, and the time for recovery, s, that the machine file
// allows.
func limitsOf(g *governed.Governor) (rise, recovery float64) {
	rise, recovery = usualRise, usualRecovery
	if limit := g.Setting.Limits.Overshoot; limit != nil {
		rise = 100 * float64(*limit)
	}
	if limit := g.Setting.Limits.RecoveryTime; limit != nil {
		recovery = float64(*limit)
	}
	return rise, recovery
}
