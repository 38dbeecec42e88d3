package sweep

import (
	"context"
	"govrig/rig/execution/governed"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/procedure/hold"
	"govrig/rig/procedure/proceduretest"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
	"govrig/sim/standin/governor"
)

// scattered is a virtual bench whose host answers after times that scatter
// evenly from nothing to most ticks.
func scattered(t *testing.T, m *machine.Machine, most int64) *execution.Bench {
	g, err := governor.New(m.GovernorParams(board.TickHz), 0)
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(1, 2))
	return &execution.Bench{Machine: m, Where: "virtual", StandIn: g, Board: board.New(board.Options{
		Governor: g, HostDelay: func() int64 { return rng.Int64N(most + 1) },
	})}
}

// A host whose answers scatter by half a millisecond does no harm and is
// measured right: evenly spread times scatter by their span over √12 (any
// text-book of statistics). One that scatters by many milliseconds spoils the
// margins, and the sweep says by how much.
func TestSweepSaysWhenTheDelaySpoilsTheMargins(t *testing.T) {
	m := proceduretest.Medium(t)
	for _, c := range []struct {
		most    int64 // ticks
		outcome measure.Outcome
	}{{8_000, measure.Pass}, {960_000, measure.Error}} {
		var s Sweep
		r, err := s.Measure(context.Background(), scattered(t, m, c.most), &Options{AtSpeeds: governed.AtEach("circuit")})
		require.NoError(t, err)
		require.Equal(t, c.outcome, r.Result.Outcome, "%v", r.Result.Warnings)
		t.Logf("delay %.3f ms, spread %.3f ms", proceduretest.Value(t, r, "loop_delay"), proceduretest.Value(t, r, "loop_delay_spread"))
		for _, p := range s.Points {
			t.Logf("%s: margin %.2f°, doubt %.2f°, governor delay %.2f ms", p.Name, p.Margins.Phase.Value, p.Doubt, 1e3*p.Fit.Delay)
			warnings := r.Result.Find("phase_margin_" + p.Name).Warnings
			if c.outcome == measure.Pass {
				require.InEpsilon(t, 1e3*8_000/16e6/3.4641, proceduretest.Value(t, r, "loop_delay_spread"), 0.05)
				require.Less(t, p.Doubt, marginDoubt)
				require.Empty(t, warnings)
				continue
			}
			require.Greater(t, p.Doubt, marginDoubt)
			require.Contains(t, warnings[len(warnings)-1], "the rig's own delay scattered by")
		}
	}
}

// A USB chip that holds bytes back for 16 ms, as FTDI's do unless told otherwise
// (application note AN232B-04): the run is good, and nothing is said. At 24 ms its
// pulses come near what they may be off, and what cures that is said. One of 40 ms
// spoils the spool-up.
func TestBridgeThatHoldsBytesBack(t *testing.T) {
	m := proceduretest.Medium(t)
	for _, c := range []struct {
		delay   int64 // ticks
		ms      float64
		outcome measure.Outcome
		said    bool
	}{{256_000, 17, measure.Pass, false}, {384_000, 25, measure.Pass, true}, {640_000, 41, measure.Error, true}} {
		b := scattered(t, m, 0)
		b.Board = board.New(board.Options{Governor: b.StandIn, HostDelayTicks: c.delay})
		r, err := (&hold.Options{Time: 1}).Run(context.Background(), b)
		require.NoError(t, err)
		require.Equal(t, c.outcome, r.Result.Outcome, "%v", r.Result.Warnings)
		require.InDelta(t, c.ms, proceduretest.Value(t, r, "loop_delay"), 0.5)
		require.Less(t, proceduretest.Value(t, r, "loop_delay_spread"), 0.1)
		require.Equal(t, c.said, strings.Contains(strings.Join(r.Result.Warnings, "\n"), "latency timer"))
	}
}

// Where the doubt decides over the limit nobody is blamed.
func TestDoubtAtTheLimitIsAnError(t *testing.T) {
	for _, c := range []struct {
		phase, doubt float64
		want         measure.Outcome
	}{{31, 0.5, measure.Pass}, {29, 0.5, measure.Fail}, {31, 2, measure.Error}, {29, 2, measure.Error}, {33, 2, measure.Pass}, {20, 2, measure.Fail}} {
		p := SweepPoint{Name: "light", Load: measure.Light, Doubt: c.doubt}
		p.Margins.Phase = measure.Read(c.phase)
		sheet := measure.NewSheet("sweep", true, p.measures()[0])
		sheet.Take("phase_margin_light", p.Margins.Phase)
		p.judgeDoubt(sheet)
		require.Equal(t, c.want, sheet.Result().Outcome, "%+v", c)
	}
}
