package faults

import (
	"slices"
	"time"

	"govrig/rig"
	"govrig/rig/execution/governed"
	"govrig/rig/finding"
	"govrig/rig/measure"
	"govrig/sim/machine"
)

// fault is something that goes wrong with the governor's inputs.
type fault struct {
	name    string  // of its measures
	what    string  // for the person, as it stands after "with"
	shuts   bool    // only a closed throttle is safe; else holding the speed is, too
	returns bool    // the governor has to find its way back; what it takes for its own way up does not count
	within  float64 // the time allowed to become safe, s
	highest bound   // the highest speed allowed
	rule    string  // why it is judged so, where that wants saying
	play    func(*faulting, *fault) (aftermath, error)
}

// faults lists what is done to the governor, in order: first what it should
// ride through, last what shuts it.
func faults(g *governed.Governor, baud int) []fault {
	rise, recovery := limitsOf(g)
	ridden, tripped, wrong := within(g, 100+rise), within(g, overspeed), blades(g)
	rides := func(name, what string, play func(*faulting, *fault) (aftermath, error)) fault {
		return fault{name: name, what: what, within: recovery, highest: ridden, play: play}
	}
	returns := func(name, what string, highest bound, play func(*faulting, *fault) (aftermath, error)) fault {
		return fault{name: name, what: what, returns: true, within: recovery, highest: highest, play: play}
	}
	shuts := func(name, what string, play func(*faulting, *fault) (aftermath, error)) fault {
		return fault{name: name, what: what, shuts: true, within: shutWithin, highest: tripped, play: play}
	}
	on := shuts("switched_on_stick_up", "the governor switched on with the stick up", (*faulting).switchedOn)
	on.rule = "; no governor may engage before the stick has been low, as whoever starts the engine may have left it up (common practice, no source)"
	low, up, gone := (*faulting).low, (*faulting).up, (*faulting).gone
	selectFaults := []fault{
		returns("select_too_short", "a select pulse shorter than any setting", wrong, selects("select too short", -1)),
		returns("select_too_long", "a select pulse longer than any setting", wrong, selects("select too long", 1)),
		returns("select_pulled", "the select lead pulled", wrong, selects("select lead pulled", 0)),
	}
	bothLeads := []fault{shuts("leads_pulled", "the leads of stick and select pulled", leads("stick and select pulled", gone, true))}
	if g.Machine.Governor.Select == machine.SelectNone {
		selectFaults, bothLeads = nil, nil
	}
	return slices.Concat([]fault{
		rides("missing_pulse", "one pickup pulse missing", missing("missing pulse", 1, 1)),
		rides("missing_bursts", "bursts of missing pulses", missing("missing bursts", 5, 6)),
		rides("stray_pulses", "a few stray pulses", strays("stray pulses", 5, 0.15)),
		rides("doubled_pulses", doubledWhat(g, baud), (*faulting).doubled),
	}, selectFaults, []fault{
		returns("failsafe_held", "a receiver whose failsafe holds the stick after a gap", ridden, failsafe("failsafe holds", up)),
		returns("failsafe_jumped", "a receiver whose failsafe sets the stick to its upper end", ridden, failsafe("failsafe jumps", (*faulting).top)),
		returns("governor_reset", "the governor switched off and on under load", ridden, (*faulting).reset),
		shuts("pickup_lost", "the pickup lost", (*faulting).lost),
		shuts("idle_level_drift", "the pickup's idle level drifting until no pulse is felt any more", (*faulting).drift),
		shuts("pickup_lost_load_step", "the pickup lost as a load goes off", (*faulting).lostInLoadStep),
		shuts("pickup_lost_spool_up", "the pickup lost during the spool-up", (*faulting).lostInSpoolUp),
		shuts("stick_cut", "the stick pulled low at full load", leads("stick cut", low, false)),
		shuts("failsafe_low", "a receiver whose failsafe sets the stick low", failsafe("failsafe sets low", low)),
		shuts("stick_pulled", "the stick lead pulled", leads("stick lead pulled", gone, false)),
	}, bothLeads, []fault{
		on,
	})
}

// frame is the time between two orders to the board, s, as a fault can be ordered
// once in it.
func frame(baud int) float64 { return rig.TelemetryPeriod(baud).Seconds() }

// Stick widths of faults.
func (f *faulting) low() time.Duration  { return f.g.Stick(0) }
func (f *faulting) up() time.Duration   { return f.g.Stick(f.g.Up) }
func (f *faulting) top() time.Duration  { return f.g.Stick(1) }
func (f *faulting) gone() time.Duration { return 0 }

// measures are those of one fault.
func (x *fault) measures() []measure.Declaration {
	end := measure.AtMost(100 * closedWithin)
	safe := "safe: the throttle closed, at or below where it stands with the stick low, and so to the end of the watch"
	if !x.shuts {
		end = nil
		safe = "safe: the speed back within ±2 % of what was held (or twice what it wanders by itself), by a throttle that answers a change of speed; or the throttle closed to the end of the watch"
	}
	if x.returns {
		safe += "; counted from when its own spool-up would be over"
	}
	of := func(what string) measure.Key { return measure.Key{What: what, Moment: x.name} }
	return []measure.Declaration{
		{
			Name: finding.TimeToSafe + "_" + x.name, Key: of(finding.TimeToSafe), About: x.what, Unit: "s", Limit: measure.AtMost(x.within),
			Convention: safe + x.rule + "; limit: our own", Meaning: "How long it is not safe: with " + x.what + ".",
		},
		{
			Name: finding.HighestSpeed + "_" + x.name, Key: of(finding.HighestSpeed), About: x.what, Unit: "%", Limit: measure.AtMost(x.highest.most),
			Convention: "of engine or head, in % of the declared (wanted) speed; " + x.highest.of, Meaning: "The highest speed that is reached then.",
		},
		{
			Name: finding.ThrottleAtEnd + "_" + x.name, Key: of(finding.ThrottleAtEnd), About: x.what, Unit: "%", Limit: end,
			Convention: "in % of the travel, from where it stands with the stick low; limit: our own", Meaning: "How far the throttle is open at the end.",
		},
	}
}

func faultMeasures(faults []fault) (all []measure.Declaration) {
	for i := range faults {
		all = append(all, faults[i].measures()...)
	}
	return all
}
