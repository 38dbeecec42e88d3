package sheet

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig"
	"govrig/sim/standin/board"
)

// What the sheet counts on is what a board says of itself; the slowest pulses that
// it plays are slower than any the sheet plans.
func TestHobbyBoardIsWhatABoardSaysOfItself(t *testing.T) {
	id, err := rig.Greet(context.Background(), board.New(board.Options{}), 3)
	require.NoError(t, err)
	b, tick := HobbyBoard(), 1/float64(id.TickHz)
	require.Equal(t, tick, b.Tick)
	require.InDelta(t, float64(id.MinPeriodTicks)*tick, b.MinPeriod, tick/2)
	require.InDelta(t, float64(id.MinWidthTicks)*tick, b.MinWidth, tick/2)
	require.InDelta(t, float64(id.MinWidthTicks)*tick, b.MinGap, tick/2)
	require.LessOrEqual(t, b.MaxPeriod, float64(id.MaxPeriodTicks)*tick)
}
