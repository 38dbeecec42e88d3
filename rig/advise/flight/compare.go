package flight

import (
	"fmt"
	"math"
	"strings"

	"govrig/sim/machine"
)

// Comparison is a bench run beside a flight.
type Comparison struct {
	Bench, Flight Side
	// Says are sentences about the machine file; what cannot be told is said.
	Says []string
}

const (
	likeDepth = 0.12 // difference of two dips that load steps by hand have anyway (our own)
	likeSlope = 0.2
	likeSpeed = 0.05 // of the speed before
)

// Compare says what the difference says about a machine's file at the setting
// that was flown.
func Compare(m *machine.Machine, s machine.SpeedSetting, bench, flown Side) *Comparison {
	c := &Comparison{Bench: bench, Flight: flown}
	if !bench.Deviation.OK() || !flown.Deviation.OK() {
		c.say("What the difference says about the model cannot be told: there is no dip in both.")
		return c
	}
	if off := flown.Before.Value/bench.Before.Value - 1; math.Abs(off) > likeSpeed {
		c.say("The head turned at %.0f rpm in flight and at %.0f on the bench: what the difference says about the model cannot be told across two speeds.",
			flown.Before.Value, bench.Before.Value)
		return c
	}
	depth := flown.Deviation.Value / bench.Deviation.Value
	if depth < 0 {
		c.say("The bench's load came on where the flight's went off, or the other way round: they cannot be held against one another.")
		return c
	}
	if !bench.Slope.OK() || !flown.Slope.OK() {
		c.say("The dip in flight is %.2g times as deep as on the bench. Why cannot be told: how fast it begins is not seen.", depth)
		return c
	}
	if bench.Deviation.Value > 0 {
		c.say("The rise in flight is %.2f times as high as on the bench. Values of the machine file are told by a load that comes on, not by a load that goes off: name one with --event.", depth)
		return c
	}
	c.judge(m, s, depth, flown.Slope.Value/bench.Slope.Value)
	return c
}

func (c *Comparison) say(format string, args ...any) {
	c.Says = append(c.Says, fmt.Sprintf(format, args...))
}

// judge says what the factors of depth and slope mean, and the values that would
// make them one.
func (c *Comparison) judge(m *machine.Machine, s machine.SpeedSetting, depth, slope float64) {
	c.say("The dip in flight is %.2f times as deep as on the bench, and begins %.2f times as fast.", depth, slope)
	deeper, faster := math.Abs(depth-1) > likeDepth, math.Abs(slope-1) > likeSlope
	if !deeper && !faster {
		c.say("That is as like as two load changes by hand are: nothing speaks against the machine file.")
		return
	}
	found := false
	for _, way := range []struct {
		given string
		of    func(a, b float64) change
	}{
		{"if the engine is as in the file", func(a, b float64) change { return change{load: a, inertia: b, engine: 1} }},
		{"if the load was that of the file", func(a, b float64) change { return change{load: 1, inertia: b, engine: 1 / a} }},
	} {
		if fit, ok := agree(m, s, depth, slope, way.of); ok {
			found = true
			c.say("Bench and flight would agree, %s, with %s.", way.given, listed(values(m, fit)))
		}
	}
	if found {
		c.say("That holds if the governor was set as on the bench and the pitch moved as fast.")
	} else {
		c.say("No values of load, engine and inertia within a factor of %.2g make them agree: look at the governor's gain, which may have been another.", farthest)
	}
}

// listed names values with what they mean.
func listed(all []Value) string {
	if len(all) == 0 {
		return "the values of the file"
	}
	var parts []string
	for _, v := range all {
		parts = append(parts, fmt.Sprintf("%s: %s %s (the file has %s)", v.Means, v.Key, v.Would, v.Is))
	}
	return strings.Join(parts, ", and ")
}
