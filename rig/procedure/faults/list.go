package faults

import (
	"fmt"
	"math"

	"govrig/protocol"
	"govrig/rig"
	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure"
	"govrig/rig/phase"
)

// fault is something that goes wrong with the governor's inputs.
type fault struct {
	name    string  // of its measures
	what    string  // for the person
	shuts   bool    // only a closed throttle is safe; else holding the speed is, too
	within  float64 // the time allowed to become safe, s
	highest float64 // the highest speed allowed, % of the wanted
	play    func(*faulting) (aftermath, error)
}

// Limits of our own.
const (
	// shutWithin: at full throttle without load, engine and rotor together gain
	// some ten to twenty per cent of speed in a second.
	shutWithin = 1.0 // s
	// shutTravel is the most of the throttle's travel that counts as closed: an
	// idle stop or a fail-safe a little above it is below this.
	shutTravel = 0.10
	// overspeed is where generator sets are tripped (common practice, no
	// source: 115 to 120 %); the pull on blades and magnets is then 1.44 times
	// that at the wanted speed.
	overspeed = 120 // %
	// usualRise and usualRecovery stand in for limits that the machine file
	// leaves out: ISO 8528-5 class G2.
	usualRise     = 12.0 // %
	usualRecovery = 5.0  // s
	// wayBack is the time allowed for the way back from another speed or from
	// a restart, which is a spool-up.
	wayBack = 8.0 // s
)

// faults lists what is done to the governor, in order: first what it should
// ride through, last what shuts it.
func faults(g *governed.Governor) []fault {
	rise, recovery := usualRise, usualRecovery
	if limit := g.Setting.Limits.Overshoot; limit != nil {
		rise = 100 * float64(*limit)
	}
	if limit := g.Setting.Limits.RecoveryTime; limit != nil {
		recovery = float64(*limit)
	}
	rides := func(name, what string, play func(*faulting) (aftermath, error)) fault {
		return fault{name, what, false, recovery, 100 + rise, play}
	}
	shuts := func(name, what string, highest float64, play func(*faulting) (aftermath, error)) fault {
		return fault{name, what, true, shutWithin, highest, play}
	}
	top := 100*float64(g.Machine.Governor.SpeedHigh)/g.Engine() + rise
	return []fault{
		rides("missing_pulse", "one pickup pulse missing", missing("missing pulse", 1, 1)),
		rides("missing_bursts", "bursts of missing pulses", missing("missing bursts", 5, 6)),
		rides("stray_pulses", "a few stray pulses", strays("stray pulses", 5, 0.15)),
		rides("doubled_pulses", "every pulse doubled for half a second", (*faulting).doubled),
		{"select_too_short", "a select pulse shorter than any setting", false, wayBack, top, selects("select too short", -1)},
		{"select_too_long", "a select pulse longer than any setting", false, wayBack, top, selects("select too long", 1)},
		{"governor_reset", "the governor switched off and on under load", false, wayBack, 100 + rise, (*faulting).reset},
		shuts("stick_cut", "the stick pulled low at full load", 100+rise, (*faulting).stickCut),
		shuts("pickup_lost", "the pickup lost while the speed is held", overspeed, (*faulting).lost),
		shuts("idle_level_drift", "the pickup's idle level drifts until no pulse is felt any more", overspeed, (*faulting).drift),
		shuts("pickup_lost_load_step", "the pickup lost as a load goes off", overspeed, (*faulting).lostInLoadStep),
		shuts("pickup_lost_spool_up", "the pickup lost during the spool-up", overspeed, (*faulting).lostInSpoolUp),
	}
}

// measures are those of one fault.
func (x *fault) measures() []measure.Declaration {
	end := measure.AtMost(100 * shutTravel)
	safe := "safe: the throttle closed (at most 10 % of its travel), for good"
	if !x.shuts {
		end = nil
		safe = "safe: the speed back within ±1 % of what was held, or the throttle closed, for good"
	}
	return []measure.Declaration{
		{
			Name: "time_to_safe_" + x.name, Key: measure.Key{What: "time_to_safe", Moment: x.name}, About: x.what, Unit: "s", Limit: measure.AtMost(x.within), Convention: safe + "; limit: our own",
			Meaning: "How long it is not safe: " + x.what + ".",
		},
		{
			Name: "highest_speed_" + x.name, Key: measure.Key{What: "highest_speed", Moment: x.name}, About: x.what, Unit: "%", Limit: measure.AtMost(x.highest),
			Convention: "in % of the declared (wanted) speed; limit: our own", Meaning: "The highest speed that the engine reaches then.",
		},
		{
			Name: "throttle_at_end_" + x.name, Key: measure.Key{What: "throttle_at_end", Moment: x.name}, About: x.what, Unit: "%", Limit: end,
			Convention: "in % of the travel from closed to open; limit: our own", Meaning: "Where the throttle stands at the end.",
		},
	}
}

func faultMeasures(faults []fault) (all []measure.Declaration) {
	for i := range faults {
		all = append(all, faults[i].measures()...)
	}
	return all
}

// missing leaves out pulses, so many in a row and so many times.
func missing(name string, times int, pulses uint16) func(*faulting) (aftermath, error) {
	return func(f *faulting) (aftermath, error) {
		var phases []rig.Phase
		for range times {
			p := f.g.Phase(during(name), 0.15)
			p.Faults = []protocol.Fault{{Kind: protocol.FaultDrop, Value: pulses}}
			phases = append(phases, p)
		}
		return f.play(name, during(name), append(phases, f.g.Phase(after(name), watchTime))...)
	}
}

// strays adds stray pulses half-way between two regular ones, so many times and
// so far apart, s.
func strays(name string, times int, apart float64) func(*faulting) (aftermath, error) {
	return func(f *faulting) (aftermath, error) {
		half := f.g.Spacing() / 2
		if half < strayRoom {
			return aftermath{why: fmt.Sprintf("pulses %.2f ms apart leave the board no room for a stray one between them", 2e3*half)}, nil
		}
		var phases []rig.Phase
		for range times {
			p := f.g.Phase(during(name), apart)
			p.Faults = []protocol.Fault{{Kind: protocol.FaultStray, Value: uint16(math.Round(half * 1e6))}}
			phases = append(phases, p)
		}
		return f.play(name, during(name), append(phases, f.g.Phase(after(name), watchTime))...)
	}
}

// strayRoom is how far a stray pulse has to be from a regular one, s: the
// pulse's width, and the board's gap.
const strayRoom = 500e-6 + 100e-6

// doubled orders a stray pulse in every interval for half a second.
func (f *faulting) doubled() (aftermath, error) {
	apart := math.Max(2e-3, f.g.Spacing()-execution.StepTicks/16e6)
	return strays("doubled pulses", int(0.5/apart), apart)(f)
}

// selects plays a select pulse beyond one end, -1 or 1, by a quarter of the
// way between the ends, and then the right one again. The clock starts there.
func selects(name string, end float64) func(*faulting) (aftermath, error) {
	return func(f *faulting) (aftermath, error) {
		s := f.g.Search()
		width := (s.Low+s.High)/2 + end*0.75*(s.High-s.Low)
		wrong := f.g.Phase(during(name), 2)
		wrong.Select = execution.Seconds(math.Max(100e-6, math.Min(2.5e-3, width)))
		return f.play(name, after(name), wrong, f.g.Phase(after(name), longWatch))
	}
}

func (f *faulting) stickCut() (aftermath, error) {
	const name = "stick cut"
	cut := f.g.Phase(during(name), watchTime)
	cut.Stick = f.g.Stick(0)
	return f.play(name, during(name), cut)
}

func (f *faulting) lost() (aftermath, error) {
	const name = "pickup lost"
	return f.play(name, during(name), f.muted(during(name)))
}

// muted is a phase without pickup pulses.
func (f *faulting) muted(key phase.Key) rig.Phase {
	p := f.g.Phase(key, watchTime)
	p.Mute = true
	return p
}

// lostInLoadStep loses the pickup while the throttle is open against a load that
// has just come on, and takes the load off in that moment.
func (f *faulting) lostInLoadStep() (aftermath, error) {
	const name = "pickup lost, load off"
	g, load := f.g, f.g.Machine.LoadStep
	ramp := float64(load.Ramp)
	calm := f.calm(name)
	light := g.Load(before("load off"), float64(load.CollectiveLow), ramp, watchTime)
	heavy := g.Load(before("load on"), float64(load.CollectiveHigh), ramp, ramp+0.2)
	g.Orders.Collective = float64(load.CollectiveLow)
	lost := f.muted(during(name))
	lost.Ramp = execution.Steps(ramp)
	part, _, err := f.t.Play(calm, light, heavy, lost)
	return f.after(part, during(name), err)
}

// lostInSpoolUp loses the pickup when most of the spool-up is over.
func (f *faulting) lostInSpoolUp() (aftermath, error) {
	const name = "pickup lost, spool-up"
	g := f.g
	g.Orders.Stick = g.Stick(0)
	off := g.Phase(before("engine off"), lowTime/3)
	off.Mute = true
	if _, _, err := f.t.Play(g.Phase(before("stick low"), lowTime), off); err != nil {
		return aftermath{}, err
	}
	f.t.Helicopter() // idling again, its rotor at rest
	g.Orders.Collective = float64(g.Machine.LoadStep.CollectiveLow)
	idle := g.Phase(before("idle"), governed.IdleTime)
	g.Orders.Stick = g.Stick(governed.GovernedStick)
	part, _, err := f.t.Play(idle, g.Phase(before("spool-up"), 0.6*f.spool), f.muted(during(name)))
	return f.after(part, during(name), err)
}

// driftTime is how long the drift takes from the first pulse missed to the
// last one felt, s.
const driftTime = 1.5

// drift is what a governor's input makes of an idle level that drifts toward or
// away from its threshold, warm sensor or falling supply: the peaks reach the
// threshold ever more seldom, then not at all. The share of pulses missing grows
// evenly with time; the clock starts when the last is gone. A governor that
// takes the missing pulses for a slow engine opens the throttle meanwhile.
func (f *faulting) drift() (aftermath, error) {
	const name, gone = "idle level drifts", "no pulse felt any more"
	var phases []rig.Phase
	pulses := driftTime / f.g.Spacing()
	at := 0.0
	// The n-th pulse missing is the one at which their share, integrated over
	// the pulses, comes to n: pulses·(t/T)²/2 = n.
	for n := 1.0; n <= pulses/2; n++ {
		next := driftTime * math.Sqrt(2*n/pulses)
		phases = append(phases, f.g.Phase(during(name), next-at))
		at = next
		last := &phases[len(phases)-1]
		last.Faults = []protocol.Fault{{Kind: protocol.FaultDrop, Value: 1}}
	}
	return f.play(name, during(gone), append(phases, f.muted(during(gone)))...)
}
