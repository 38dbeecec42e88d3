package throttle

import (
	"fmt"
	"strings"

	"govrig/rig/execution"
	"govrig/rig/execution/openloop"
	"govrig/rig/finding"
	"govrig/rig/measure"
	"govrig/rig/measure/pulse"
)

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
		if l.turn == 0 {
			l.T.Next("Run accept: it finds out which pickup pulses the governor takes.")
		}
		return
	}
	l.T.Found("With pulses of %.0f rpm it engages at %.1f %% of the stick's way (%.0f µs) and disengages at %.1f %%.",
		l.turn*execution.RPM, arm, 1e6*(l.Closed+arm/100*l.Travel), release)
	if arm-release < l.leastBand() {
		l.T.Found("It engages and disengages at the same stick: there is no hysteresis.")
		l.T.Next("Keep every flight curve of the stick well above %.0f %% and idle well below; look in the governor's manual for a setting of the arming threshold.", arm)
	}
}

// notEngaged is why no thresholds were found where the governor did not engage.
func (l *throttleTest) notEngaged() string {
	var speeds []string
	for _, turn := range append(l.engageSpeeds(), tooFast*float64(l.T.Bench.Machine.Governor.SpeedHigh)) {
		speeds = append(speeds, fmt.Sprintf("%.0f", turn*execution.RPM))
	}
	return fmt.Sprintf("with the stick up to %.0f %% and pickup pulses of %s rpm the governor did nothing of its own",
		100*highStick, strings.Join(speeds, ", "))
}

// leastBand is the least hysteresis, % of the travel, that is one: less the 2 µs
// that the halving of two thresholds leaves.
func (l *throttleTest) leastBand() float64 { return leastBandOf(l.Travel) }

// readFrames takes the measures of the throttle's frames, on a board whose clock is
// fast by a share, and gives their rate. Where the board lost pulses of the line
// itself, the governor's cannot be counted.
func (l *throttleTest) readFrames(fast float64) measure.Reading {
	l.frames = pulse.FramesOf(openloop.Starts(l.rest))
	rate := l.frames.Rate
	jitter := l.frames.Jitter
	jitter.Value *= 100 * rate.Value
	l.frames.Missing.Value *= 100
	if lost := l.T.Health.LostCaptures; lost > 0 {
		l.frames.Missing = measure.Missing("the board lost %d throttle pulses itself", lost)
	}
	rate.Value *= 1 + fast
	l.T.Sheet.Take("output_frame_rate", rate)
	l.T.Sheet.Take("output_frame_jitter", jitter)
	l.T.Sheet.Take("output_frames_missing", l.frames.Missing)
	return rate
}

// adviseFrames says what is wrong with the frames.
func (l *throttleTest) adviseFrames() {
	jitters := l.frames.Jitter.OK() && 100*l.frames.Jitter.Value*l.frames.Rate.Value > mostJitter
	misses := l.frames.Missing.OK() && l.frames.Missing.Value > mostMissing
	if jitters {
		l.T.Found("The throttle frames jitter: from one to the next it takes %.1f ms, give or take %.1f ms.", 1e3/l.frames.Rate.Value, 1e3*l.frames.Jitter.Value)
	}
	if misses {
		l.T.Found("Of the throttle frames %.0f %% are missing.", l.frames.Missing.Value)
	}
	if jitters || misses {
		l.T.Next("A throttle frame that is late or missing is a correction that comes late: see that the throttle line, its ground and the governor's supply are good, then run throttle again; if it stays, ask its maker.")
	}
}

// advise says what to do about frames and steps.
func (l *throttleTest) advise(rate, step measure.Reading, staircase bool) {
	l.T.Found("Servo frames come at %.1f Hz.", rate.Value)
	if rate.Value < slowestFrames {
		l.T.Found("The throttle pulses come rarely: slow frames, one every %.0f ms, delay every correction.", 1e3/rate.Value)
		l.T.Next("Look in the governor's manual for a faster frame rate of the throttle servo, and whether the servo may have it.")
	}
	if greatest, beyond := finding.FramesBeyond(rate.Value, &l.T.Bench.Machine.Servo); beyond {
		l.T.Found("That is more often than the throttle servo of the machine file is made for, about %.0f Hz (an analogue one: common practice).", greatest)
		l.T.Next("Do not connect that servo: it could overheat and fail. Look in the governor's manual for a lower frame rate, or use a servo that is made for %.0f Hz.", rate.Value)
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
