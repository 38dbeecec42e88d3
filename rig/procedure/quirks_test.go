package procedure

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/procedure/hold"
	"govrig/rig/procedure/proceduretest"
	"govrig/rig/procedure/tune"
	"govrig/sim/standin/governor"
)

// examined are the procedures that look at a governor, in the order of a
// commission.
func examined() (all List) {
	for _, p := range All {
		if p.Wires == execution.Governor {
			all = append(all, p)
		}
	}
	return all
}

// brief makes some of them shorter.
func brief(o execution.Options) execution.Options {
	switch o := o.(type) {
	case *hold.Options:
		o.Time = 5
	case *tune.Options:
		o.Positions = 2
	}
	return o
}

// catchers says which procedure must catch a quirk, and by a word that its
// findings or its missed measures hold.
var catchers = map[string]struct{ procedure, word string }{
	"other_polarity":    {"accept", "polarity"},
	"slow_frames":       {"throttle", "output_frame_rate"},
	"coarse_output":     {"throttle", "output_step"},
	"proportional_only": {"hold", "speed_droop"},
	"wind_up":           {"loadstep", "overload_overshoot"},
	"no_hysteresis":     {"throttle", "arming_hysteresis"},
	"loss_opens":        {"faults", "throttle_at_end"},
	"believes_slow":     {"faults", "highest_speed_idle_level_drift"},
	"deaf_when_fast":    {"accept", "highest_speed"},
	"counts_twice":      {"hold", "counts 2 pulses a turn"},
	"coarse_setting":    {"hold", "speed_setting_error"},
}

// examine runs every procedure on the medium machine with a quirk and gives what each
// came to, and all that it said.
func examine(t *testing.T, change func(*governor.Params)) (outcomes map[string]measure.Outcome, said map[string]string) {
	outcomes, said = map[string]measure.Outcome{}, map[string]string{}
	m := proceduretest.Medium(t)
	for _, p := range examined() {
		r, err := brief(p.New()).Run(context.Background(), proceduretest.Bench(t, m, change))
		require.NoError(t, err)
		outcomes[p.Name] = r.Result.Outcome
		words := append(append([]string{}, r.Found...), r.Result.Warnings...)
		for _, mm := range r.Result.Measures {
			if mm.Outcome == measure.Fail {
				words = append(words, mm.Name)
			}
		}
		said[p.Name] = strings.Join(words, "\n")
		if p.Name == "tune" {
			if step := r.Result.Find("gain_per_step"); step.Value != nil && *step.Value < 1 {
				said["tune"] += "\nreversed"
			}
		}
	}
	return outcomes, said
}

// The table of quirks: each is caught by at least one procedure with the right
// words, and no procedure blames the healthy stand-in.
func TestQuirkTable(t *testing.T) {
	table := fmt.Sprintf("%-18s", "")
	for _, p := range examined() {
		table += fmt.Sprintf("%-9s", p.Name)
	}
	row := func(name string, outcomes map[string]measure.Outcome) {
		table += fmt.Sprintf("\n%-18s", name)
		for _, p := range examined() {
			table += fmt.Sprintf("%-9s", outcomes[p.Name])
		}
	}
	defer func() { t.Log("\n" + table) }()
	outcomes, said := examine(t, nil)
	row("healthy", outcomes)
	for name, outcome := range outcomes {
		require.Equal(t, measure.Pass, outcome, "%s blames the healthy governor: %s", name, said[name])
	}
	if proceduretest.Raced {
		return // the race detector has seen every procedure once
	}
	for _, q := range governor.Quirks {
		outcomes, said := examine(t, func(p *governor.Params) { *p = q.Apply(*p) })
		row(q.Name, outcomes)
		if q.Name == "knob_reversed" {
			require.Contains(t, said["tune"], "reversed")
			continue
		}
		c := catchers[q.Name]
		require.NotEqual(t, measure.Pass, outcomes[c.procedure], "%s must catch %s", c.procedure, q.Name)
		require.Contains(t, said[c.procedure], c.word, "%s in %s", q.Name, c.procedure)
	}
}
