package accept

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure"
	"govrig/rig/procedure/proceduretest"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
	"govrig/sim/standin/governor"
)

// A healthy stand-in is heard everywhere, and its limits are found: the loss
// time by the slowest pickup and by the number of pulses that may be missing.
func TestAcceptFindsTheStandIn(t *testing.T) {
	for _, name := range proceduretest.Machines {
		t.Run(name, func(t *testing.T) {
			m := proceduretest.Load(t, name)
			p := m.GovernorParams(board.TickHz)
			r, err := (&Options{}).Run(context.Background(), proceduretest.Bench(t, m, nil))
			require.NoError(t, err)
			require.Equal(t, measure.Pass, r.Result.Outcome, "%+v", r.Result)
			require.Less(t, proceduretest.Lasted(r), 150.0)
			require.Empty(t, r.Next)
			require.InDelta(t, 1, proceduretest.Value(t, r, "counts_per_pulse"), 0)
			pulses := float64(m.Governor.PulsesPerTurn)
			require.InEpsilon(t, 60/(p.LossTime*pulses), proceduretest.Value(t, r, "lowest_speed_heard"), 0.15)
			require.InEpsilon(t, 1.03*p.SpeedHigh*execution.RPM, proceduretest.Value(t, r, "highest_speed_heard"), 1e-9)
			per := float64(m.Speeds[0].HeadSpeed) * m.Ratio() * execution.RPM / 60 * pulses // pulses a second
			rides := proceduretest.Value(t, r, "missing_pulses_ridden_over")
			lost := (p.LossTime + 1/p.FrameRate) * per // it looks once a frame
			require.Less(t, rides, lost)
			require.Greater(t, 2*rides+1, p.LossTime*per)
		})
	}
}

func TestAcceptCatchesQuirks(t *testing.T) {
	for quirk, want := range map[machine.Quirk]struct{ measure, words string }{
		"other_polarity": {"own_pulses_heard", "takes the other polarity only: it hears high pulses, and this machine's pickup makes low ones"},
		"deaf_when_fast": {"highest_speed_heard", "does not hear the pickup above 16"},
		"counts_twice":   {"counts_per_pulse", "counts 2 pulses for each one: it counts both edges"},
	} {
		t.Run(string(quirk), func(t *testing.T) {
			m := proceduretest.Quirky(t, quirk)
			r, err := (&Options{}).Run(context.Background(), proceduretest.Bench(t, m, nil))
			require.NoError(t, err)
			require.Equal(t, measure.Fail, r.Result.Outcome)
			require.Equal(t, []string{want.measure}, proceduretest.Failed(r), "%s", proceduretest.Words(r))
			require.Contains(t, proceduretest.Words(r), want.words)
			require.NotEmpty(t, r.Next)
			require.Less(t, proceduretest.Lasted(r), 150.0)
			if deaf := m.GovernorParams(board.TickHz).DeafAbove; deaf > 0 {
				require.InEpsilon(t, deaf*execution.RPM, proceduretest.Value(t, r, "highest_speed_heard"), 0.011)
			}
		})
	}
}

// Set to two pulses a turn where one comes, it counts half.
func TestAcceptFindsAWrongNumberOfMagnets(t *testing.T) {
	b := proceduretest.Bench(t, proceduretest.Medium(t), func(p *governor.Params) { p.PulsesPerTurn = 2 })
	r, err := (&Options{}).Run(context.Background(), b)
	require.NoError(t, err)
	require.InDelta(t, 0.5, proceduretest.Value(t, r, "counts_per_pulse"), 0)
	require.Contains(t, proceduretest.Failed(r), "counts_per_pulse")
	require.Contains(t, proceduretest.Words(r), "one pulse for two")
}

// More pulses a second than the board can play are not played at all.
func TestAcceptKnowsTheBoardsLimit(t *testing.T) {
	m := proceduretest.Medium(t)
	m.Governor.PulsesPerTurn = 7 // at 18 540 rpm 2163 a second
	r, err := (&Options{}).Run(context.Background(), proceduretest.Bench(t, m, nil))
	require.NoError(t, err)
	require.Equal(t, measure.NotRun, r.Result.Outcome)
	require.Contains(t, r.Result.Find("own_pulses_heard").Warnings[0], "cannot play")
}

// What is wrong elsewhere is no fault of the pickup input.
func TestAcceptBlamesNobodyElse(t *testing.T) {
	for _, quirk := range []machine.Quirk{"slow_frames", "proportional_only", "loss_opens"} {
		r, err := (&Options{}).Run(context.Background(), proceduretest.Bench(t, proceduretest.Quirky(t, quirk), nil))
		require.NoError(t, err)
		require.Equal(t, measure.Pass, r.Result.Outcome, "%s: %s", quirk, proceduretest.Words(r))
	}
}

// As many stray pulses are played as are ordered, each at 0.4 of the way between
// two regular ones that are a spacing apart.
func TestAcceptPlaysStrays(t *testing.T) {
	m := proceduretest.Medium(t)
	g, err := governor.New(m.GovernorParams(board.TickHz), 0)
	require.NoError(t, err)
	strays := 0
	usual := governed.New(m, m.Speeds[0]).Spacing() * board.TickHz
	var edges [3]int64 // the newest last
	b := &execution.Bench{Machine: m, Where: "virtual", Board: board.New(board.Options{Governor: g, Watch: func(line governor.Line, tick int64, high bool) {
		if line != governor.Pickup || high {
			return
		}
		copy(edges[:], edges[1:])
		edges[2] = tick
		spacing := float64(edges[2] - edges[0])
		share := float64(edges[1]-edges[0]) / spacing
		if math.Abs(spacing/usual-1) < 0.02 && math.Abs(share-0.4) < 0.02 {
			strays++
		}
	}})}
	r, err := (&Options{}).Run(context.Background(), b)
	require.NoError(t, err)
	require.Equal(t, measure.Pass, r.Result.Outcome)
	require.Equal(t, 1+2+4+8+16, strays)
}

// A governor that is at work, and to which no pulse makes a difference, hears none.
func TestAcceptOfADeafGovernor(t *testing.T) {
	b := proceduretest.Bench(t, proceduretest.Medium(t), func(p *governor.Params) { p.DeafAbove = 1 })
	r, err := (&Options{}).Run(context.Background(), b)
	require.NoError(t, err)
	require.Equal(t, []string{"own_pulses_heard"}, proceduretest.Failed(r))
	require.Contains(t, proceduretest.Words(r), "no pickup pulse, of either polarity, makes a difference")
	require.NotContains(t, proceduretest.Words(r), saysThrough)
}
