package main

import (
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/commission"
	"govrig/rig/measure"
)

// The gain is left alone only where load step and sweep both say that it is
// calm; a governor that hunts, so that nothing could be measured, is not.
func TestTuningIsLeftOutForAReason(t *testing.T) {
	for _, c := range []struct {
		loadstep, sweep measure.Outcome
		why             string
	}{
		{measure.Pass, measure.Pass, "the gain is calm"},
		{measure.Pass, measure.Fail, ""},
		{measure.Fail, measure.Pass, ""},
		{measure.Pass, measure.NotRun, ""},
		{measure.Fail, "", ""},
		{measure.Pass, "", "have to tell first"},
		{measure.Error, measure.Pass, "have to tell first"},
	} {
		w := walk{state: &commission.State{Steps: []commission.Step{
			{Name: "hold", Outcome: measure.Fail}, {Name: "loadstep", Outcome: c.loadstep}, {Name: "sweep", Outcome: c.sweep},
		}}}
		if c.why == "" {
			require.Empty(t, w.whyNoTuning(), "%+v", c)
		} else {
			require.Contains(t, w.whyNoTuning(), c.why, "%+v", c)
		}
	}
}
