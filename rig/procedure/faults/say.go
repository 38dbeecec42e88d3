package faults

import (
	"fmt"
	"slices"

	"govrig/rig/execution/governed"
	"govrig/rig/finding"
)

// tally counts faults by what they came to.
type tally struct{ safe, unsafe, untold int }

// became says what a fault came to.
func (x *fault) became(c *consequence) string {
	switch {
	case c.away:
		return fmt.Sprintf("the engine runs away: the throttle is %.0f %% open and the engine at %.0f %% of the wanted speed", 100*c.throttle, c.last)
	case c.end == untold:
		return c.why
	case c.end == hasSpeed:
		return "the speed stays where it is, but the throttle no longer answers it: nothing governs"
	case c.end == held && c.after <= 0:
		return "the speed stays where it is"
	case c.end == held:
		return fmt.Sprintf("the speed is back after %.1f s", c.after)
	case c.end == shut && x.shuts:
		return fmt.Sprintf("the throttle is closed after %.2f s, and stays so", c.after)
	case c.end == shut:
		return fmt.Sprintf("the throttle is closed after %.2f s, and stays so; the engine would be at idle", c.after)
	case x.shuts && c.closed:
		return fmt.Sprintf("the throttle is not closed for good within %.1f s", c.unsafe)
	case x.shuts:
		return fmt.Sprintf("the throttle stays open, at %.0f %% of its travel", 100*c.throttle)
	}
	return fmt.Sprintf("the set speed does not come back, with the engine at %.0f %% of the wanted speed and the throttle at %.0f %%, and the throttle does not stay closed", c.last, 100*c.throttle)
}

// tell says what a fault came to, and counts it.
func (f *faulting) tell(x *fault, c *consequence) {
	switch x.verdict(c) {
	case "Safe":
		f.tally.safe++
	case "NOT SAFE":
		f.tally.unsafe++
	default:
		f.tally.untold++
	}
	f.t.Found("%s", x.sentence(c))
}

// verdict is whether a fault is safe.
func (x *fault) verdict(c *consequence) string {
	switch {
	case c.end != untold && !x.safe(c), c.highest > x.highest.most:
		return "NOT SAFE"
	case c.end == untold || x.highest.doubts(c.highest):
		return "Cannot tell"
	}
	return "Safe"
}

// sentence says what a fault came to.
func (x *fault) sentence(c *consequence) string {
	text := fmt.Sprintf("%s: %s: %s; at most %.0f %% of the wanted speed", x.verdict(c), x.what, x.became(c), c.highest)
	switch {
	case c.highest > x.highest.most:
		text += fmt.Sprintf(", more than the %.0f %% that it may reach", x.highest.most)
	case x.highest.doubts(c.highest):
		text += ", which the blades may not bear: the machine file does not say (greatest_head_speed)"
	}
	return text + "."
}

// abandoned notes the faults that could not be done because the governor did
// not take up again.
func (f *faulting) abandoned(rest []fault) {
	why := "the governor did not hold the speed under the heavy load"
	if f.before != "" {
		why = fmt.Sprintf("after the fault before (%s) neither the stick nor its supply brought the governor back", f.before)
	}
	for i := range rest {
		governed.NotRun(f.t, rest[i].measures(), why)
	}
	f.t.Found("The rest is left out: %s.", why)
}

// conclude puts the danger, and then all of it in one sentence, before the rest, and
// says what to do next.
func (f *faulting) conclude() {
	all := fmt.Sprintf("All %d faults that were tried are safe.", f.tally.safe)
	tried := f.tally.safe + f.tally.unsafe + f.tally.untold
	if f.tally.untold > 0 {
		all = fmt.Sprintf("Of %d faults that were tried %d are safe; of %d it cannot be told.", tried, f.tally.safe, f.tally.untold)
	}
	if f.tally.unsafe > 0 {
		all = fmt.Sprintf("%d of %d faults that were tried are NOT SAFE.", f.tally.unsafe, tried)
	}
	first := []string{all}
	if danger := finding.Danger(f.t.Sheet.Result()); danger != "" {
		first = []string{danger, all}
		f.t.Next("Start no engine with this governor as it is. Look in its manual for a fail-safe setting, change it, and run faults again.")
		f.t.Next("Until then, and in any case, keep an engine cut that does not go through the governor.")
	}
	if tried > 0 {
		f.t.Run.Found = slices.Insert(f.t.Run.Found, 0, first...)
	}
}
