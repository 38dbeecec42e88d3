package throttle

import (
	"math"
	"slices"

	"govrig/rig/execution"
	"govrig/rig/execution/openloop"
	"govrig/rig/measure"
	"govrig/rig/measure/pulse"
)

// openEnd is the width, s, at the governor's open end: where the stick brings
// it, or where it goes by itself.
func (l *throttleTest) openEnd() (width float64, ok bool) {
	top := math.Inf(-1)
	if l.silent.full() {
		top, ok = slices.Max(l.silent.throttle), true
	}
	if l.turn > 0 && l.opened > l.line.At(l.up)+openloop.Clearly {
		top, ok = max(top, l.opened), true
	}
	if l.highest > 0 {
		top, ok = max(top, l.highest), true
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
	rate := l.readFrames(fast)
	steps := pulse.StepsOf(l.governing, l.resolution())
	step := steps.Reading()
	step.Value *= 1e6 / (1 + fast)
	sheet.Take("output_step", step)
	sheet.Take("time_to_follow", l.followed())
	l.advise(rate, step, steps.Kind == pulse.Staircase)
	l.adviseFrames()
	l.readBarrel(l.Share(closed), l.Share(open), opens, never)
}

func (l *throttleTest) followed() measure.Reading {
	if len(l.follow) == 0 {
		return measure.Missing("there was no stretch in which the throttle follows the stick that is long enough")
	}
	return measure.Read(1e3 * slices.Max(l.follow))
}
