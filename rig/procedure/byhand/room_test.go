package byhand

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/procedure/proceduretest"
	"govrig/rig/runlog"
)

// script plays orders, each so many tenths of a second, and gives what was seen at
// the end of each.
func script(t *testing.T, b *execution.Bench, orders ...string) (seen []Seen, told []string, err error) {
	eye, eyeErr := NewEye(b.Machine)
	require.NoError(t, eyeErr)
	var last Seen
	b.Progress = func(_ string, s *runlog.Sample) { last = eye.See(s) }
	b.Say = func(sentence string) { told = append(told, sentence) }
	const tenths = 8
	n := 0
	b.Ask = func(context.Context, execution.Question) (string, error) {
		if n%tenths == 0 && n > 0 {
			seen = append(seen, last)
		}
		if n == tenths*len(orders) {
			return "", execution.ErrNotAsked
		}
		n++
		if (n-1)%tenths > 0 {
			return "", nil
		}
		return orders[(n-1)/tenths], nil
	}
	_, err = new(Options).Run(context.Background(), b)
	return seen, told, err
}

// The governor's throttle is seen as it is: below its arming threshold it follows the
// stick; above, with pulses that are too slow, it opens wide, and with pulses that are
// too fast it shuts; with the simulated engine it governs.
func TestByHand(t *testing.T) {
	m := proceduretest.Medium(t)
	seen, told, err := script(t, proceduretest.Bench(t, m, nil), "stick 20 %", "select mid", "pickup idle", "stick 60 %", "", "pickup 21000 rpm", "rest", "engine", "load 50 %", "nonsense")
	require.NoError(t, err)
	closed, travel := 1e6*float64(m.Servo.ClosedPulse), 1e6*float64(m.Servo.OpenPulse-m.Servo.ClosedPulse)
	require.InDelta(t, closed+0.2*travel, seen[0].Stick, 0.1)
	require.InDelta(t, seen[0].Stick, seen[0].Throttle, 3)
	require.InDelta(t, 20, seen[0].Travel, 0.5)
	require.Zero(t, seen[0].Engine)
	require.InDelta(t, 1500, seen[1].Select, 0.1)
	require.InDelta(t, 3200, seen[2].Engine, 0.1)
	require.InDelta(t, 3200./60, seen[2].Pulses, 0.01)
	require.InDelta(t, 100, seen[4].Travel, 0.5, "an engine that stays slow")
	require.Greater(t, seen[4].Barrel, 95.0)
	require.Less(t, seen[5].Travel, 1.0, "one that is too fast")
	require.Zero(t, seen[6].Engine)
	require.InDelta(t, closed, seen[6].Stick, 0.1)
	require.Greater(t, seen[7].Engine, 2000.0)
	require.Len(t, told, 1)
	require.True(t, strings.HasPrefix(told[0], `"nonsense" is no order`))
}

// An order that is taken back too late, a hold that is let go, a page that gives no
// sign of life: the room ends, and says that nobody holds the controls.
func TestHold(t *testing.T) {
	expired := make(chan time.Time)
	h := NewHold(time.Second, func(d time.Duration) <-chan time.Time {
		require.Equal(t, time.Second, d)
		return expired
	})
	type answer struct {
		text string
		err  error
	}
	asked := make(chan answer)
	ask := func(ctx context.Context) {
		text, err := h.Ask(ctx, execution.Question{})
		asked <- answer{text, err}
	}
	go ask(context.Background())
	h.Beat()
	h.Order(context.Background(), "rest")
	require.Equal(t, answer{"rest", nil}, <-asked)

	go ask(context.Background())
	expired <- time.Time{}
	require.ErrorIs(t, (<-asked).err, ErrLetGo)

	ended, end := context.WithCancel(context.Background())
	end()
	go ask(ended)
	require.ErrorIs(t, (<-asked).err, context.Canceled)

	h.LetGo()
	go ask(context.Background())
	require.ErrorIs(t, (<-asked).err, ErrLetGo)
}

// A room whose hold is let go ends as an error that says so, the board told to stop.
func TestLetGoEndsTheRoom(t *testing.T) {
	b := proceduretest.Bench(t, proceduretest.Medium(t), nil)
	h := NewHold(time.Hour, time.After)
	h.LetGo()
	b.Ask = h.Ask
	r, err := new(Options).Run(context.Background(), b)
	require.ErrorIs(t, err, ErrLetGo)
	require.NotNil(t, r)
}
