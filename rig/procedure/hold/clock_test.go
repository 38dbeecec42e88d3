package hold

import (
	"context"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
	"govrig/rig/procedure/proceduretest"
	"govrig/sim/standin/board"
)

// Where the board's clock and the computer's do not agree on their drift the run
// is void, and the governor is not blamed; where the board is only a little fast,
// all the while, it is not.
func TestDoubtfulClockVoidsTheRun(t *testing.T) {
	for name, c := range map[string]struct {
		bent float64
		void bool
	}{"bent": {0.01, true}, "straight": {0, false}} {
		b := proceduretest.Bench(t, proceduretest.MachineOf(t, "medium-15cc", "none"), nil)
		now := b.Board.(*board.Board).Now
		b.Clock = func() time.Duration {
			s := float64(now()) / board.TickHz / 1.002
			return time.Duration((s + c.bent*math.Max(0, s-8)) * 1e9)
		}
		r, err := (&Options{Time: 8}).Run(context.Background(), b)
		require.NoError(t, err)
		said := strings.Join(r.Result.Warnings, "\n")
		require.Equal(t, c.void, strings.Contains(said, "the board's clock and the computer's do not agree"), "%s: %s", name, said)
		require.Equal(t, c.void, r.Result.Outcome == measure.Error, name)
	}
}
