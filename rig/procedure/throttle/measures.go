package throttle

import (
	"fmt"
	"math"
	"slices"

	"govrig/rig/measure"
	"govrig/sim/linkage"
	"govrig/sim/machine"
)

const (
	slowestFrames  = 40.0 // Hz
	aboutRate      = 1.1  // times the servo's rate is still about that rate
	coarsestStep   = 8.0  // µs
	mostJitter     = 5.0  // % of a frame
	mostMissing    = 2.0  // % of the frames
	leastBand      = 1.0  // % of the travel
	allowedOpening = 3.0  // % of the barrel's full area
)

// throttleMeasures declares the measures of Throttle.
func throttleMeasures(m *machine.Machine) []measure.Declaration {
	return slices.Concat(lineMeasures(m), armingMeasures(m), barrelMeasures(m), transmitterMeasures(m))
}

// frameLimit is that of the frame rate: not too few, and no more than the servo is
// made for, where the machine file tells.
func frameLimit(m *machine.Machine) (limit *measure.Limit, convention string) {
	convention = "slope of the straight line through the pulses' starts; limit: common practice, no source"
	most := aboutRate * m.Servo.GreatestFrameRate()
	servo := convention + "; and a tenth more than the throttle servo is made for, by the machine file"
	switch {
	case most == 0:
		return measure.AtLeast(slowestFrames), convention
	case most < slowestFrames:
		return measure.AtMost(most), servo
	}
	return measure.Between(slowestFrames, most), servo
}

func lineMeasures(m *machine.Machine) []measure.Declaration {
	frames, framesConvention := frameLimit(m)
	return []measure.Declaration{
		{
			Name: "throttle_closed_end", Unit: "µs", Convention: "median width with the stick at its closed end",
			Meaning: "Width of the governor's servo pulses at its closed end.",
		},
		{
			Name: "throttle_open_end", Unit: "µs", Convention: "steady width where it opens farthest, by stick or while it governs a slow engine",
			Meaning: "The same at its open end.",
		},
		{
			Name: "throttle_slope", Unit: "1", Convention: "straight line through the stretch that follows the stick; no pickup pulses",
			Meaning: "How far the throttle moves for the stick; below 0 is the wrong way.",
		},
		{
			Name: "dead_zone_closed_end", Unit: "%", Convention: "of the stick travel, where that line meets the closed end",
			Meaning: "Stick at the closed end that moves nothing; below 0 the throttle moves before the stick reaches its end.",
		},
		{
			Name: "dead_zone_open_end", Unit: "%", Optional: true, Convention: "of the stick travel, where that line meets the open end",
			Meaning: "Stick at the open end that moves nothing.",
		},
		{
			Name: "output_frame_rate", Unit: "Hz", Limit: frames, Convention: framesConvention,
			Meaning: "How often the governor moves the servo; slow frames are a delay in the loop.",
		},
		{
			Name: "output_frame_jitter", Unit: "%", Limit: measure.AtMost(mostJitter),
			Convention: "root mean square departure of the time between two pulses that follow each other from its mean, of that mean, stick low; limit: our own",
			Meaning:    "How unevenly the throttle pulses come.",
		},
		{
			Name: "output_frames_missing", Unit: "%", Limit: measure.AtMost(mostMissing),
			Convention: "of the frames, those without a pulse, stick low; limit: our own",
			Meaning:    "How many throttle pulses do not come at all.",
		},
		{
			Name: "output_step", Unit: "µs", Limit: measure.AtMost(coarsestStep),
			Convention: "largest step of which all widths seen while it governs are multiples, or what it is at or below; limit: our own, 1 % of a travel of 800 µs",
			Meaning:    "Smallest move that the governor can make; the speed wanders about coarse ones.",
		},
		{
			Name: "time_to_follow", Unit: "ms", Convention: "from the order of a new stick to the end of the first throttle pulse past half way, the longest of eight; up to 22 ms of it is the receiver's frame",
			Meaning: "How long the throttle takes to answer the stick.",
		},
	}
}

// leastBandOf is the least hysteresis, % of a travel, s.
func leastBandOf(travel float64) float64 { return leastBand - 100*2e-6/math.Abs(travel) }

func armingMeasures(m *machine.Machine) []measure.Declaration {
	travel := float64(m.Servo.OpenPulse) - float64(m.Servo.ClosedPulse)
	const how = "of the stick travel, by halving to 1 µs"
	return []measure.Declaration{
		{
			Name: "arming_threshold", Unit: "%", Convention: how + ", from a low stick up",
			Meaning: "Stick at which the governor engages: its arming threshold.",
		},
		{
			Name: "release_threshold", Unit: "%", Convention: how + ", from a high stick down",
			Meaning: "Stick at which it disengages and the throttle is the stick's again: its disarming threshold.",
		},
		{
			Name: "arming_hysteresis", Unit: "%", Limit: measure.AtLeast(leastBandOf(travel)), Convention: "the first less the second; limit: our own, 1 %, a few times the unrest of a stick, less 2 µs that the halving leaves",
			Meaning: "How far apart the two are; without it, a stick resting there switches the governor on and off.",
		},
	}
}

func barrelMeasures(m *machine.Machine) []measure.Declaration {
	closed, open := ownEnds(m)
	const limit = "of the full area, by the machine's linkage; limit: what the linkage gives at the end of its own servo travel (%.3g %%), with %g %% allowed"
	return []measure.Declaration{
		{
			Name: "barrel_open_at_closed_end", Unit: "%", Limit: measure.AtMost(100*closed + allowedOpening),
			Convention: fmt.Sprintf(limit, 100*closed, allowedOpening),
			Meaning:    "How far the governor's closed end leaves the carburettor open.",
		},
		{
			Name: "barrel_open_at_open_end", Unit: "%", Limit: measure.AtLeast(100*open - allowedOpening),
			Convention: fmt.Sprintf(limit, 100*open, allowedOpening),
			Meaning:    "How far its open end opens the carburettor.",
		},
		{
			Name: "arm_off_square_at_mid", Unit: "°", Convention: "the larger of servo arm and carburettor arm, from square to the line between their pivots",
			Meaning: "How far the arms are from square in the middle of the governor's travel; square arms open and close alike.",
		},
	}
}

// ownEnds are the open shares that the linkage gives at the ends of the servo's
// calibrated travel.
func ownEnds(m *machine.Machine) (closed, open float64) {
	l, err := linkage.New(m.LinkageParams())
	if err != nil {
		return 0, 1 // no machine file of such a linkage is taken
	}
	closed, _, _ = l.Opening(-1) // New has checked the whole travel
	open, _, _ = l.Opening(1)
	return closed, open
}
