package rig

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"govrig/rig/runlog"
	"govrig/sim/standin/board"
	"govrig/sim/standin/bridge"
	"govrig/sim/standin/governor"
)

// changed plays a load or a sway that nothing said before, at a far board, and gives
// the health of its phase.
func changed(t *testing.T, change func(*Phase), notice bool) Health {
	t.Helper()
	g, err := governor.New(standIn(), 0)
	require.NoError(t, err)
	b := board.New(board.Options{Governor: g})
	b.Through(bridge.New(bridge.Kind{Frame: time.Millisecond, Packet: 64, Far: 9 * time.Millisecond}, 1))
	session, err := Open(context.Background(), b, Settings{})
	require.NoError(t, err)
	script := loadStep()
	script.Phases = script.Phases[:2]
	loop := NewLoop(setup(), script)
	play := func() { require.NoError(t, session.Run(context.Background(), loop, nil, func(*runlog.Sample) {})) }
	play()
	next := script.Phases[1]
	next.Name, next.Steps = "changed", seconds(1)
	change(&next)
	if hold, ok := loop.Notice(&next); notice {
		require.True(t, ok)
		require.InDelta(t, 21e-3, float64(hold.Steps)*stepTicks/board.TickHz, 2e-3, "a round trip and a frame")
		loop.Append(hold)
	}
	loop.Append(next)
	play()
	require.NoError(t, session.Close())
	return loop.PhaseHealth(loop.Phases() - 1)
}

// A change that begins where the board cannot know of it yet makes pulses that are not
// the engine's; with notice they are.
func TestNotice(t *testing.T) {
	for name, change := range map[string]func(*Phase){
		"load": func(p *Phase) { p.Collective = 0.1 },
		"sway": func(p *Phase) { p.Sway = []Sine{{Amplitude: 50, Frequency: 2 * stepTicks / float64(board.TickHz)}} },
	} {
		h := changed(t, change, false)
		require.NotEmpty(t, h.Void(), name)
		h = changed(t, change, true)
		require.Less(t, h.WorstInterval, WorstIntervalLimit/2, name)
	}
}

// Orders that do not move the pulses need none: the stick's, and what is mute.
func TestNoNotice(t *testing.T) {
	loop := NewLoop(setup(), Script{})
	next := Phase{Steps: 10, Collective: 0.1}
	_, ok := loop.Notice(&next)
	require.False(t, ok, "nothing stands")
	loop.Append(next)
	next.Stick, next.Select = time.Millisecond, time.Millisecond
	_, ok = loop.Notice(&next)
	require.False(t, ok, "the same load")
	next.Collective, next.Mute = 0.2, true
	_, ok = loop.Notice(&next)
	require.False(t, ok, "no pulses")
	next.Mute = false
	_, ok = loop.Notice(&next)
	require.True(t, ok)
}
