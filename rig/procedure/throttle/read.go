package throttle

import (
	"math"
	"slices"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/execution/openloop"
	"govrig/rig/measure"
	"govrig/rig/measure/pulse"
	"govrig/sim/linkage"
)

// farOff is how far from square an arm is worth a word, °.
const farOff = 5.0

// openEnd is the width, s, at the governor's open end: where the stick brings
// it, or where it goes by itself.
func (l *throttleTest) openEnd() (width float64, ok bool) {
	top := math.Inf(-1)
	if l.silent.full() {
		top, ok = slices.Max(l.silent.throttle), true
	}
	if l.turn > 0 && l.opened > l.line.At(governed.GovernedStick)+openloop.Clearly {
		top, ok = max(top, l.opened), true
	}
	return l.Closed + top*l.Travel, ok
}

// readCourses says how the throttle follows the stick.
func (l *throttleTest) readCourses() {
	sheet := l.T.Sheet
	const why = "the throttle did not follow the stick anywhere"
	line, full := l.line, l.silent.full()
	if l.silent.follows {
		line = l.silent.line
	}
	sheet.Take("throttle_slope", openloop.Reading(l.follows, line.Slope, why))
	rest := l.Share(openloop.Middle(openloop.Widths(l.rest)))
	sheet.Take("dead_zone_closed_end", openloop.Reading(l.follows, 100*line.X(rest), why))
	highest := 0.0
	if full {
		highest = slices.Max(l.silent.throttle)
	}
	sheet.Take("dead_zone_open_end", openloop.Reading(full, 100*(1-line.X(highest)), "without pulses the throttle did not follow the stick up to there"))
	l.T.Found("Without pickup pulses the throttle %s.", l.silent.words())
	l.T.Found("With those of an idling engine, %.0f rpm, it %s.", l.idle()*execution.RPM, l.idling.words())
	if l.follows && line.Slope < 0 {
		l.T.Found("It moves against the stick: the closed end of the one is the open end of the other.")
		l.T.Next("Reverse the throttle servo in the governor, or swap closed_pulse and open_pulse in the machine file if the linkage is right as it is.")
	}
}

// readLine takes the measures of the line itself, and what they mean at the
// carburettor, as a true clock would time them.
func (l *throttleTest) readLine() {
	fast := execution.BoardFast(l.T.Session)
	closed := openloop.Middle(openloop.Widths(l.rest)) / (1 + fast)
	open, opens := l.openEnd()
	open /= 1 + fast
	sheet := l.T.Sheet
	sheet.Set("throttle_closed_end", 1e6*closed)
	const never = "the throttle never opened fully: neither by the stick, nor while governing a slow engine"
	sheet.Take("throttle_open_end", openloop.Reading(opens, 1e6*open, never))
	rate := pulse.FramesOf(openloop.Starts(l.rest)).Rate
	rate.Value *= 1 + fast
	sheet.Take("output_frame_rate", rate)
	steps := pulse.StepsOf(l.governing, l.resolution())
	step := steps.Reading()
	step.Value *= 1e6 / (1 + fast)
	sheet.Take("output_step", step)
	sheet.Take("time_to_follow", l.followed())
	l.advise(rate, step, steps.Kind == pulse.Staircase)
	l.readBarrel(l.Share(closed), l.Share(open), opens, never)
}

func (l *throttleTest) followed() measure.Reading {
	if len(l.follow) == 0 {
		return measure.Missing("there was no stretch in which the throttle follows the stick that is long enough")
	}
	return measure.Read(1e3 * slices.Max(l.follow))
}

// readArming gives the thresholds in % of the stick's travel as a true clock
// would time it.
func (l *throttleTest) readArming() {
	fast := execution.BoardFast(l.T.Session)
	ok := l.thresholds == ""
	percent := func(stick float64) float64 {
		return 100 * l.Share((l.Closed+stick*l.Travel)/(1+fast))
	}
	arm, release := percent(l.arm), percent(l.release)
	l.T.Sheet.Take("arming_threshold", openloop.Reading(ok, arm, l.thresholds))
	l.T.Sheet.Take("release_threshold", openloop.Reading(ok, release, l.thresholds))
	l.T.Sheet.Take("arming_hysteresis", openloop.Reading(ok, arm-release, l.thresholds))
	if !ok {
		l.T.Found("No arming threshold: %s.", l.thresholds)
		l.T.Next("Run accept: it finds out which pickup pulses the governor takes.")
		return
	}
	l.T.Found("With pulses of %.0f rpm it takes up governing at %.1f %% of the stick's way (%.0f µs) and lets go at %.1f %%.",
		l.turn*execution.RPM, arm, 1e6*(l.Closed+arm/100*l.Travel), release)
	if arm-release < leastBand {
		l.T.Found("It arms and lets go at the same stick: there is no hysteresis.")
		l.T.Next("Keep every flight curve of the stick well above %.0f %% and idle well below; look in the governor's manual for a setting of the switching point.", arm)
	}
}

// readBarrel sets the governor's travel against the machine's linkage.
func (l *throttleTest) readBarrel(closed, open float64, opens bool, why string) {
	sheet := l.T.Sheet
	bars, err := linkage.New(l.T.Bench.Machine.LinkageParams())
	if err != nil {
		opens, why = false, err.Error()
		sheet.NotRun("barrel_open_at_closed_end", why)
	} else {
		sheet.Set("barrel_open_at_closed_end", 100*barrel(bars, closed))
	}
	if !opens {
		sheet.NotRun("barrel_open_at_open_end", why)
		sheet.NotRun("arm_off_square_at_mid", why)
		return
	}
	sheet.Set("barrel_open_at_open_end", 100*barrel(bars, open))
	off := offSquare(bars, (closed+open)/2)
	sheet.Set("arm_off_square_at_mid", off)
	l.adviseBarrel(bars, closed, open, off)
}

func (l *throttleTest) adviseBarrel(bars *linkage.Linkage, closed, open, off float64) {
	ownClosed, ownOpen := ownEnds(l.T.Bench.Machine)
	l.T.Found("The governor's travel runs from %.0f %% to %.0f %% of the servo's and opens the barrel from %.0f %% to %.0f %%.",
		whole(closed), whole(open), whole(barrel(bars, closed)), whole(barrel(bars, open)))
	if barrel(bars, closed) > ownClosed+allowedOpening/100 || barrel(bars, open) < ownOpen-allowedOpening/100 {
		l.T.Next("Teach the governor its stick ends again, then run throttle again: its travel does not reach the ends of the servo's.")
	}
	if ownClosed > allowedOpening/100 {
		l.T.Found("The linkage itself leaves the barrel %.0f %% open at the closed end; that is no fault of the governor.", 100*ownClosed)
	}
	if ownOpen < 0.9 {
		l.T.Found("The linkage itself opens the barrel only %.0f %%; that is no fault of the governor.", 100*ownOpen)
	}
	if off > farOff {
		l.T.Found("In the middle of the travel an arm stands %.0f° from square, so that the throttle opens and closes unevenly; that is the linkage's doing.", off)
		p := bars.Params()
		if more := 1000 * (p.SquareRod() - p.Rod); math.Abs(more) > 0.5 {
			l.T.Next("Make the rod %.1f mm long instead of %.1f mm: both arms then stand square in the middle. See plan for the rest of the linkage.", 1000*p.SquareRod(), 1000*p.Rod)
		}
	}
}

// whole is a share in whole per cent, never −0.
func whole(share float64) float64 { return math.Round(100*share) + 0 }

// barrel is the open share of the carburettor at a throttle, beyond whose ends
// the servo arm is taken to stop.
func barrel(bars *linkage.Linkage, throttle float64) float64 {
	share, _, _ := bars.Opening(max(-1, min(1, 2*throttle-1))) // New has checked the travel
	return share
}

// offSquare is the larger angle by which an arm is not square, °.
func offSquare(bars *linkage.Linkage, throttle float64) float64 {
	pose, _ := bars.At(max(-1, min(1, 2*throttle-1))) // New has checked the travel
	off := func(arm float64) float64 { return math.Abs(math.Abs(arm)*execution.Degrees - 90) }
	return max(off(pose.Servo), off(pose.Carb))
}

// advise says what to do about frames and steps.
func (l *throttleTest) advise(rate, step measure.Reading, staircase bool) {
	l.T.Found("Servo frames come at %.1f Hz.", rate.Value)
	if rate.Value < slowestFrames {
		l.T.Found("The throttle pulses come rarely: slow frames, one every %.0f ms, delay every correction.", 1e3/rate.Value)
		l.T.Next("Look in the governor's manual for a faster frame rate of the throttle servo, and whether the servo may have it.")
	}
	switch {
	case staircase:
		l.T.Found("While governing, the pulse moves in steps of %.3g µs.", step.Value)
	case step.OK():
		l.T.Found("While governing, the pulse moves in no steps that could be seen: they are at or below %.3g µs.", step.Value)
	}
	if staircase && step.Value > coarsestStep {
		l.T.Found("That is coarse: the throttle jumps and the speed will wander between two steps.")
		l.T.Next("Use as much of the governor's travel as the linkage allows, by a shorter servo arm, so that one step opens the barrel less.")
	}
}
