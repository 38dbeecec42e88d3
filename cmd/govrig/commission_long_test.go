//go:build long

package main

import (
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
)

// The whole of commission with the real firmware: every step passes, and the
// end is not a go, because no hardware was there. About 13 minutes of the
// board's time.
func TestCommissionOnTheEmulatedBoard(t *testing.T) {
	p, state := commissioned(t)
	for _, step := range state.Steps {
		if step.Name == "tune" {
			require.NotEmpty(t, step.Skipped, "nothing gave a reason to turn the gain")
			continue
		}
		require.Equal(t, measure.Pass, step.Outcome, "%+v\n%s", step, p.read.String())
	}
	require.Len(t, p.asked, 12, "%q", p.asked) // nine steps, one of them again, the turning, the governor's restart
}
