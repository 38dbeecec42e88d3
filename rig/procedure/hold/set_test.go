package hold

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure"
	"govrig/rig/procedure/proceduretest"
	"govrig/sim/standin/board"
	"govrig/sim/standin/governor"
)

// person stands beside a governor and answers as the page says, or turns nothing.
type person struct {
	g     *governor.Governor
	asked []string
	turns func()
}

func (p *person) ask(_ context.Context, q execution.Question) (string, error) {
	p.asked = append(p.asked, q.Text)
	switch {
	case q.Key == "turn" && p.turns == nil:
		return "keep", nil
	case q.Key == "turn":
		p.turns()
	}
	return q.Answers[0], nil
}

// held holds the trainer's hover with a governor that is set in itself, by so much off.
func held(t *testing.T, kind string, off float64, turns bool) (*execution.Run, *person) {
	m := proceduretest.Spoilt(t, "  lowest_speed: 10000 rpm", "  select: "+kind+"\n  lowest_speed: 10000 rpm")
	p := m.GovernorParams(board.TickHz)
	p.SpeedStep = 0
	right := float64(m.Speeds[0].HeadSpeed) * m.Ratio()
	if kind == "none" {
		p.Dialled = right * (1 + off)
	} else {
		p.Stored[0].Speed *= 1 + off
	}
	g, err := governor.New(p, 0)
	require.NoError(t, err)
	sits := &person{g: g}
	if turns {
		sits.turns = func() { g.Dial(right) }
	}
	b := &execution.Bench{Machine: m, Board: board.New(board.Options{Governor: g}), Where: "bench", Ask: sits.ask}
	r, err := (&Options{AtSpeeds: governed.AtEach("hover"), Time: 4}).Run(context.Background(), b)
	require.NoError(t, err)
	return r, sits
}

// A governor whose speed is set in itself is told which way and how far to be turned,
// once it is off by more than it may be; nothing is said of select pulses.
func TestHoldTellsHowFarToTurn(t *testing.T) {
	for _, kind := range []string{"none", "steps"} {
		r, sits := held(t, kind, 0.03, true)
		require.Len(t, sits.asked, 1+askedFirst(kind))
		require.Contains(t, sits.asked[len(sits.asked)-1], "Turn the speed setting in the governor down by 2.9 %, 38")
		require.Equal(t, measure.Pass, r.Result.Outcome, "%v", r.Found)
		require.InDelta(t, 0, proceduretest.Value(t, r, "setting_to_turn"), 0.05)
		require.Nil(t, r.Result.Find("select_travel"))
		require.Equal(t, kind == "steps", r.Result.Find("select_width") != nil)

		r, _ = held(t, kind, -0.03, false)
		require.Equal(t, measure.Fail, proceduretest.Outcome(t, r, "speed_setting_error"))
		require.InDelta(t, 100*(1/0.97-1), proceduretest.Value(t, r, "setting_to_turn"), 0.05)
		require.Contains(t, proceduretest.Words(r), "hover: turn its speed setting in the governor up by 3.1 %")
		require.NotContains(t, proceduretest.Words(r), "select line")
	}
	r, sits := held(t, "none", 0.003, true)
	require.Len(t, sits.asked, askedFirst("none"), "it is near enough")
	require.InDelta(t, -0.3, proceduretest.Value(t, r, "setting_to_turn"), 0.05)
}

// askedFirst is how often the person is asked to set a speed of the trainer's three.
func askedFirst(kind string) int {
	if kind == "none" {
		return 1
	}
	return 0
}
