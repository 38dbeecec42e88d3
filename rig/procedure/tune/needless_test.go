package tune

import (
	"testing"

	"github.com/stretchr/testify/require"

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
		why := needless(func(name string) measure.Outcome {
			return map[string]measure.Outcome{"hold": measure.Fail, "loadstep": c.loadstep, "sweep": c.sweep}[name]
		})
		if c.why == "" {
			require.Empty(t, why, "%+v", c)
		} else {
			require.Contains(t, why, c.why, "%+v", c)
		}
	}
}
