package rig_test

import (
	"context"
	"flag"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"govrig/rig"
	"govrig/rig/runlog"
	"govrig/sim/heli"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
	"govrig/sim/standin/bridge"
	"govrig/sim/standin/governor"
)

// How the error of the pickup intervals grows with the wire's round trip. The
// whole table:
//
//	go test ./rig -run WireError -v -table
var table = flag.Bool("table", false, "print the whole table of interval errors")

// situations are stretches of a run, by their phases.
var situations = []struct {
	name    string
	phase   int
	hunting bool
}{{"spool-up", 1, false}, {"calm hold", 2, false}, {"load step", 3, false}, {"hunting", 2, true}}

// flown plays a machine over a wire and gives the loop.
func flown(t *testing.T, name string, perTurn int, hunting bool, wire *bridge.Bridge, hostDelay int64) *rig.Loop {
	t.Helper()
	const step = 4_000
	m, err := machine.Load("../testdata/machines/" + name + ".yaml")
	require.NoError(t, err)
	p := m.GovernorParams(board.TickHz)
	p.PulsesPerTurn = perTurn
	if hunting {
		p.Gain *= 12
	}
	g, err := governor.New(p, 0)
	require.NoError(t, err)
	b := board.New(board.Options{Governor: g, HostDelayTicks: hostDelay})
	if wire != nil {
		b.Through(wire)
	}
	session, err := rig.Open(context.Background(), b, rig.Settings{})
	require.NoError(t, err)
	phase := func(name string, seconds float64, stick time.Duration, collective float64) rig.Phase {
		return rig.Phase{
			Name: name, Steps: int64(seconds * board.TickHz / step), Ramp: board.TickHz / step / 10,
			Stick: stick, Select: 1420 * time.Microsecond, Collective: collective,
		}
	}
	low, high := float64(m.LoadStep.CollectiveLow), float64(m.LoadStep.CollectiveHigh)
	loop := rig.NewLoop(rig.Setup{
		Plant: heli.New(m.HeliParams(), float64(step)/board.TickHz), StepTicks: step, TickRate: board.TickHz, Magnets: perTurn,
	}, rig.Script{Phases: []rig.Phase{
		phase("idle", 1, 1100*time.Microsecond, low), phase("spool-up", 9, 1600*time.Microsecond, low),
		phase("hold", 4, 1600*time.Microsecond, low), phase("load on", 4, 1600*time.Microsecond, high),
	}})
	require.NoError(t, session.Run(context.Background(), loop, nil, func(*runlog.Sample) {}))
	require.NoError(t, session.Close())
	return loop
}

// Up to a round trip of 10 ms, below the plant's own latency, the error does not
// grow at all: news that is left out has not begun to act. Up to 20 ms it stays
// below the limit, but for a governor that hunts from one end of the throttle to
// the other. The wire of the virtual board takes 0.98 ms.
func TestWireError(t *testing.T) {
	trips, turns := []float64{1, 6, 20}, []int{1, 4}
	if *table {
		trips, turns = []float64{1, 2, 4, 6, 10, 15, 20, 30, 40}, []int{1, 2, 3, 4}
	}
	for _, perTurn := range turns {
		var lines [4]strings.Builder
		for _, trip := range trips {
			delay := int64((trip - 0.98) * board.TickHz / 1000)
			calm, hunting := flown(t, "medium-15cc", perTurn, false, nil, delay), flown(t, "medium-15cc", perTurn, true, nil, delay)
			for i, s := range situations {
				h := calm.PhaseHealth(s.phase)
				if s.hunting {
					h = hunting.PhaseHealth(s.phase)
				}
				fmt.Fprintf(&lines[i], " | %.4f / %.4f", 100*h.IntervalRMS(), 100*h.WorstInterval)
				require.Greater(t, h.Intervals, int64(300))
				require.Zero(t, h.Unpaired+h.Lost(), "%s, %d pulses a turn, %g ms", s.name, perTurn, trip)
				if trip <= 10 {
					require.Less(t, h.WorstInterval, rig.WorstIntervalLimit/5, "%s, %d pulses a turn, %g ms", s.name, perTurn, trip)
				}
				if trip <= 20 && !s.hunting {
					require.Empty(t, h.Void(), "%s, %d pulses a turn, %g ms", s.name, perTurn, trip)
				}
			}
		}
		t.Logf("%d pulses a turn, round trips of %v ms: rms / worst, %%", perTurn, trips)
		for i, s := range situations {
			t.Logf("%-10s%s", s.name, &lines[i])
		}
	}
}

// A bridge that hands several answers on at once has the board play by each of the
// newest for longer. At 500 pulses a second and more single edges may then fall beside
// the three for which a train is exact; a phase that is void by that is played again,
// and has to be good in one of four tries.
func TestWireThatBunchesAnswers(t *testing.T) {
	const tries = 16
	for _, kind := range []string{"timer-4", "timer-16", "jitter"} {
		kind, err := bridge.Find(kind)
		require.NoError(t, err)
		var void [3]int
		for seed := range uint64(tries) {
			loop := flown(t, "small-6cc", 2, false, bridge.New(kind, seed), 0)
			for i, s := range situations[:3] {
				if h := loop.PhaseHealth(s.phase); h.Void() != "" {
					void[i]++
				}
			}
		}
		t.Logf("%-9s void of %d: spool-up %d, calm hold %d, load step %d", kind.Name, tries, void[0], void[1], void[2])
		require.LessOrEqual(t, void[0], tries/2, kind.Name)
		require.Zero(t, void[1]+void[2], kind.Name)
	}
}
