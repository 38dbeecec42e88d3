package finding

import (
	"fmt"
	"math"

	"govrig/rig/measure"
	"govrig/rig/measure/engage"
	"govrig/rig/measure/hunting"
	"govrig/sim/words"
)

// Seen is what there is to go by where a wanted speed is not held.
type Seen struct {
	Speed    measure.Series // of the engine, rpm: the last seconds
	Throttle []float64      // share of the travel, in them
	Stick    float64        // share of its travel
	Wanted   float64        // rpm
	Idle     float64        // rpm
	Given    int            // pulses a turn that the governor is given
	Hunting  hunting.Finding
	// Engagement is whether it governs, where that was tried.
	Engagement Engagement
	// CanHold says whether the engine could hold the wanted speed at full
	// throttle under the load, by the machine file.
	CanHold bool
	// Ramp is how fast the throttle lets the speed rise, rpm/s, at the end.
	Ramp float64
}

// Unheld is why a wanted speed is not held.
type Unheld struct {
	Kind UnheldKind
	// Speed is the mean at the end, Low and Top its extremes, rpm.
	Speed, Low, Top float64
	// Throttle is its mean share at the end.
	Throttle float64
	// Counts is how many pulses a turn the governor counts, where Kind is
	// Miscounts; Expected how many it waits for, where Kind is Expects.
	Counts, Expected int
	seen             Seen
}

// UnheldKind is one of the reasons below.
type UnheldKind int

// The reasons.
const (
	// Unsteady: the speed never settled, and nothing more can be told.
	Unsteady UnheldKind = iota
	// Asleep: the throttle stayed shut and the engine idled.
	Asleep
	// FollowsStick: the throttle stands where the stick has it.
	FollowsStick
	// Ungoverned: the throttle does not answer the speed.
	Ungoverned
	// WideOpen: the throttle is at its open end and the engine beyond the wanted
	// speed, with nothing to hold it back.
	WideOpen
	// TooWeak: the throttle is at its open end and the engine below the wanted
	// speed: it has no more.
	TooWeak
	// Miscounts: a simple fraction of the wanted speed is held, as it counts more
	// pulses a turn than it is given.
	Miscounts
	// Expects: a multiple of the wanted speed is held, as it is set to more pulses a
	// turn than it is given.
	Expects
	// OtherSpeed: another speed is held.
	OtherSpeed
	// Hunts: the speed swings for good.
	Hunts
	// Unproven: the wanted speed is there, but nothing shows that it is the
	// governor's doing.
	Unproven
)

const (
	// asleepBelow times the idle speed is no more than idling.
	asleepBelow = 1.3
	// steadyWithin is the whole width of a steady speed, a share.
	steadyWithin = 0.03
	// ratioWithin is how near a simple ratio a steady speed has to come; the mean of
	// one that swings is less sure.
	ratioWithin, ratioSwinging = 0.02, 0.06
	// nearWanted is a speed near enough to be the wanted one in the wrong place.
	nearWanted = 0.02
)

// WhyUnheld finds the reason, from the plainest to the least sure.
func WhyUnheld(s Seen) Unheld {
	u := Unheld{Speed: s.Speed.Mean(), seen: s}
	u.Low, u.Top = s.Speed.Extent()
	for _, share := range s.Throttle {
		u.Throttle += share / float64(len(s.Throttle))
	}
	ends := engage.EndsOf(s.Throttle, 0, 1, atEnd)
	steady := u.Top-u.Low < steadyWithin*u.Speed
	within := ratioSwinging
	if steady {
		within = ratioWithin
	}
	over, under, ratio := engage.Ratio(u.Speed, s.Wanted, within)
	switch governs := s.Engagement.Verdict; {
	case u.Speed < asleepBelow*s.Idle && u.Throttle < 0.5:
		u.Kind = Asleep
	case Follows(s.Throttle, s.Stick) && governs != Yes:
		u.Kind = FollowsStick
	case ends.High > 0.8 && u.Speed > (1+nearWanted)*s.Wanted:
		u.Kind = WideOpen
	case ends.High > 0.8 && u.Speed < (1-nearWanted)*s.Wanted && !s.CanHold:
		u.Kind = TooWeak
	case governs == No:
		u.Kind = Ungoverned
	case ratio && (governs == Yes || !steady):
		u.Kind, u.Counts = Miscounts, s.Given*under
		if over > 1 {
			u.Kind, u.Counts, u.Expected = Expects, 0, s.Given*over
		}
	case s.Hunting.Hunting():
		u.Kind = Hunts
	case steady && math.Abs(u.Speed/s.Wanted-1) < nearWanted && governs != Yes:
		u.Kind = Unproven
	case steady && governs == Yes:
		u.Kind = OtherSpeed
	}
	return u
}

// Found says it in plain words.
func (u Unheld) Found() string {
	s := &u.seen
	switch u.Kind {
	case Asleep:
		return fmt.Sprintf("The engine stayed at idle, the throttle at %.0f %% of its travel: the governor did not engage, although stick and pickup pulses were there.", 100*u.Throttle)
	case FollowsStick:
		return fmt.Sprintf("The governor has not engaged: the throttle stands where the stick has it, at %.0f %%, and the engine turns at %.0f rpm where %.0f are wanted.", 100*u.Throttle, u.Speed, s.Wanted)
	case Ungoverned:
		return fmt.Sprintf("The governor does not govern: %s; the engine turns at %.0f rpm where %.0f are wanted.", s.Engagement.Why, u.Speed, s.Wanted)
	case WideOpen:
		return fmt.Sprintf("The throttle stands wide open and the engine turns at %.0f rpm where %.0f are wanted: nothing holds it back.", u.Speed, s.Wanted)
	case TooWeak:
		return fmt.Sprintf("The throttle is wide open and the engine gives %.0f rpm where %.0f are wanted: by the machine file the engine is too weak for this load.", u.Speed, s.Wanted)
	case Miscounts:
		return fmt.Sprintf("The governor holds the engine %s %.0f rpm where %.0f are wanted: it counts %s a turn, and is given %d.", u.at(), u.Speed, s.Wanted, words.Count(u.Counts, "pulse"), s.Given)
	case Expects:
		return fmt.Sprintf("The governor holds the engine %s %.0f rpm where %.0f are wanted: it takes %d pulses for one turn (magnets, or poles), and is given %d.", u.at(), u.Speed, s.Wanted, u.Expected, s.Given)
	case OtherSpeed:
		return fmt.Sprintf("The governor holds the engine at %.0f rpm where %.0f are wanted.", u.Speed, s.Wanted)
	case Hunts:
		return fmt.Sprintf("The engine never became steady: the governor hunts, and the engine swings between %.0f and %.0f rpm, %.2g times a second.", u.Low, u.Top, s.Hunting.Frequency)
	case Unproven:
		return fmt.Sprintf("The engine turns steadily at %.0f rpm, but it cannot be told whether the governor does that: %s.", u.Speed, s.Engagement.Why)
	}
	return fmt.Sprintf("The engine never became steady: at the end its speed went between %.0f and %.0f rpm.", u.Low, u.Top)
}

func (u Unheld) at() string {
	if u.Top-u.Low < steadyWithin*u.Speed {
		return "at"
	}
	return "about"
}

// Next says what to do about it.
func (u Unheld) Next() string {
	switch u.Kind {
	case Asleep:
		return "Does the governor arm at this stick, is its pickup polarity right, and has it been taught the ends of the stick? The procedures throttle and accept find out."
	case FollowsStick, Ungoverned, Unproven:
		return "Run accept and throttle: they find which pickup pulses the governor registers and at which stick it arms. See its manual for the switch or setting that turns governing on."
	case WideOpen:
		return fmt.Sprintf("Run accept: it finds whether the governor registers the pickup pulses. Is it set to more pulses a turn (magnets, or poles) than the %d that it is given?", u.seen.Given)
	case TooWeak:
		return weakNext
	case Miscounts:
		return fmt.Sprintf("Set the governor to %s a turn (magnets, or poles), as in the machine file; if it has no such setting, it may count both edges of a pulse.", words.Count(u.seen.Given, "pulse"))
	case Expects:
		return fmt.Sprintf("Set the governor to %s a turn (magnets, or poles), as in the machine file, and start no engine before: it would run far too fast.", words.Count(u.seen.Given, "pulse"))
	case OtherSpeed:
		return "Check the gear ratio, the number of magnets and the lowest and highest speed in the machine file and in the governor."
	case Hunts:
		return "Turn the governor's gain down and run this again; tune tells by how much."
	}
	return "Turn the governor's gain down, or look at the throttle linkage, and try again."
}
