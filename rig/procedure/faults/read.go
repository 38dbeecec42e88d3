package faults

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"govrig/rig/execution/governed"
	"govrig/rig/measure"
)

// consequence is what a fault came to.
type consequence struct {
	unsafe   float64 // for how long it was not safe, s
	forGood  bool    // it was safe at the end
	highest  float64 // % of the wanted speed
	throttle float64 // at the end, share of the travel
	holds    bool    // at the end the speed is what it was
}

// read takes the measures of a fault.
func (f *faulting) read(x fault, s aftermath) {
	c := f.came(x, s)
	time := measure.Read(c.unsafe)
	if !c.forGood {
		time = time.Warn("it was not safe until the end: %.1f s is all that was watched", c.unsafe)
	}
	sheet := f.t.Sheet
	sheet.Take("time_to_safe_"+x.name, time)
	sheet.Set("highest_speed_"+x.name, c.highest)
	sheet.Set("throttle_at_end_"+x.name, 100*c.throttle)
	f.shut = !c.holds
	f.tell(x, c)
}

// came goes through the samples from the moment at which the clock starts.
func (f *faulting) came(x fault, s aftermath) consequence {
	part := &s.part
	n := len(part.Time)
	start := min(sort.SearchFloat64s(part.Time, s.event), n-1)
	half := governed.Tolerance / 200 * f.g.Declared()
	last := start - 1 // sample that was not safe
	for i := start; i < n; i++ {
		closed := f.g.Travel(part.Throttle[i]) <= shutTravel
		held := math.Abs(part.Speed[i]-s.speed) <= half
		if !closed && (x.shuts || !held) {
			last = i
		}
	}
	_, highest := part.EngineSpeed(0, n).Extent()
	c := consequence{highest: 100 * highest / f.g.Declared(), throttle: f.g.Travel(part.Throttle[n-1]), forGood: last < n-1}
	if last >= start {
		c.unsafe = part.Time[min(last+1, n-1)] - s.event
	}
	c.holds = c.throttle > shutTravel && math.Abs(part.Speed[n-1]-s.speed) <= 2*half
	return c
}

func (x *fault) safe(c consequence) bool {
	return c.unsafe <= x.within && c.highest <= x.highest && (!x.shuts || c.throttle <= shutTravel)
}

// tell says what a fault came to.
func (f *faulting) tell(x fault, c consequence) {
	became := fmt.Sprintf("the throttle is closed after %.2f s", c.unsafe)
	switch {
	case !c.forGood && x.shuts:
		became = fmt.Sprintf("the throttle stays open, at %.0f %% of its travel", 100*c.throttle)
	case !c.forGood:
		became = fmt.Sprintf("the speed does not come back, with the throttle at %.0f %%", 100*c.throttle)
	case !x.shuts && c.holds && c.unsafe == 0:
		became = "the speed stays where it is"
	case !x.shuts && c.holds:
		became = fmt.Sprintf("the speed is back after %.1f s", c.unsafe)
	case !x.shuts:
		became += "; the engine would be at idle"
	}
	f.done++
	verdict := "Safe"
	if !x.safe(c) {
		verdict = "NOT SAFE"
		f.bad++
	}
	f.t.Found("%s: %s: %s; at most %.0f %% of the wanted speed.", verdict, x.what, became, c.highest)
}

// abandoned notes the faults that could not be done because the governor did
// not take up again.
func (f *faulting) abandoned(faults []fault, from int) {
	why := "the governor did not hold the speed under the heavy load"
	if from > 0 {
		why = "the governor did not take up again after: " + faults[from-1].what
	}
	for _, x := range faults[from:] {
		governed.NotRun(f.t, x.measures(), why)
	}
	f.t.Found("The rest is left out: %s.", why)
}

// conclude puts all of it in one sentence before the rest, and says what to do
// next.
func (f *faulting) conclude() {
	all := fmt.Sprintf("All %d faults that were tried are safe.", f.done)
	if f.bad > 0 {
		all = fmt.Sprintf("%d of %d faults that were tried are NOT SAFE.", f.bad, f.done)
	}
	f.t.Run.Found = slices.Insert(f.t.Run.Found, 0, all)
	if f.bad == 0 {
		return
	}
	f.t.Next("Start no engine with this governor as it is: a fault can leave it running away. " +
		"Look in its manual for a fail-safe setting, change it, and run faults again.")
	f.t.Next("Until then, and in any case, keep an engine cut that does not go through the governor.")
}
