// Package gallery holds governors to test the rig's judgement on. They differ in
// structure, not in settings: in what they count, how they measure speed, by
// which law they govern, when that law runs, what their output looks like, when
// they engage and what they do when something fails. Each is written from its
// own equations and carries its Truth. Only tests import this package.
//
// A governor is put together from parts (see the files gate_, meter_ and law_);
// an exhibit in its own file says which. Everything in it is deterministic, and
// what is random is seeded. How such parts behave in governors that are sold is
// common practice, no source.
package gallery

import "govrig/sim/standin/governor"

// Kind is a sickness, by name; Healthy is none.
type Kind string

// The kinds. What makes each of them sick stands with its exhibit.
const (
	Healthy       Kind = "healthy"
	SlowIntegral  Kind = "slow integral" // slow to come back, and nothing else
	Hunts         Kind = "hunts"
	DeadBand      Kind = "dead band"
	OpensOnLoss   Kind = "opens on pickup loss"
	HoldsOnLoss   Kind = "holds throttle on pickup loss"
	ClosesSlowly  Kind = "closes slowly on pickup loss"
	HoldsStick    Kind = "goes on without stick pulses"
	CountsDouble  Kind = "counts both edges" // runs at half speed
	CountsHalf    Kind = "counts two pulses as a turn"
	OtherPolarity Kind = "other polarity"
	WideOnly      Kind = "hears wide pulses only"
	NotGoverning  Kind = "passes the stick through"
	Droops        Kind = "droop"
	Jitters       Kind = "jitter and lost frames"
	ThreeSpeeds   Kind = "three fixed speeds"
	SelectDead    Kind = "select does nothing"
	ArmsHigh      Kind = "arms only high and at speed"
	LocksHalf     Kind = "locks onto half speed after doubled pulses"
	StaysOpen     Kind = "stays at full throttle after missing pulses"
	SlowFrames    Kind = "20 Hz frames"
	WindsUp       Kind = "winds up"
	SlowSpool     Kind = "slow to spool"

	TwoThrottles     Kind = "two throttles only"
	OpensOnStickLoss Kind = "opens on stick loss"
	HoldsThenOpens   Kind = "holds, then opens on pickup loss"
	ShortTravel      Kind = "does not open fully"
)

// Member is one governor of the gallery.
type Member struct {
	// Name is short, for tables.
	Name string
	// About says how it is built and what is true of it.
	About string
	// Kind is what is wrong with it.
	Kind  Kind
	build func(Wiring) parts
}

// New gives the governor, switched on at tick start.
func (m Member) New(w Wiring, start int64) *Governor { return newGovernor(w, m.build(w), start) }

// Members are all that have a name, the healthy ones first.
func Members() []Member {
	return []Member{
		pidMember, notchMember, fastMember, incrementalMember, feedForwardMember, scheduledMember, lockoutMember, waryMember,
		conditionalMember, gradedMember, softStartMember,
		slowIntegralMember, huntsMember, deadBandMember, opensMember, holdsMember, closesSlowlyMember,
		holdsStickMember, countsDoubleMember, countsHalfMember, otherPolarityMember, wideOnlyMember,
		notGoverningMember, droopsMember, jittersMember, threeSpeedsMember, selectDeadMember, armsHighMember,
		locksHalfMember, staysOpenMember, slowFramesMember, windsUpMember, slowSpoolMember,
		relayMember, opensStickMember, waitsMember, shortTravelMember, armsLateMember,
	}
}

var (
	_ governor.Knob   = (*Governor)(nil)
	_ governor.Supply = (*Governor)(nil)
)
