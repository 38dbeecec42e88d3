package tune

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/procedure/proceduretest"
	"govrig/sim/standin/governor"
)

// tuned runs tune on the trainer with a changed stand-in.
func tuned(t *testing.T, positions int, change func(*governor.Params)) (*execution.Run, []TunePoint) {
	return tunedOn(t, proceduretest.Bench(t, proceduretest.Trainer(t), change), Options{Speed: "circuit", Positions: positions})
}

func tunedOn(t *testing.T, b *execution.Bench, o Options) (*execution.Run, []TunePoint) {
	var u tuning
	r, err := u.run(context.Background(), b, &o)
	require.NoError(t, err)
	return r, u.points
}

// The knob goes from half the gain to sixteen times: the rig sees each step
// double it, keeps clear of the hunting end, and takes the calm position that
// dips least.
func TestTuneFindsTheKnob(t *testing.T) {
	positions := 7
	if proceduretest.Raced {
		positions = 2
	}
	r, points := tuned(t, positions, nil)
	require.Equal(t, measure.Pass, r.Result.Outcome, "%+v", r.Result)
	require.Len(t, points, positions)
	require.InEpsilon(t, 2.0, proceduretest.Value(t, r, "gain_per_step"), 0.05)
	if proceduretest.Raced {
		return
	}
	require.InDelta(t, 2, proceduretest.Value(t, r, "recommended_position"), 1)
	require.NotEmpty(t, points[6].Why, "sixteen times the gain hunts, which is said")
	require.GreaterOrEqual(t, proceduretest.Value(t, r, "recommended_phase_margin"), 45.0)
}

// A knob that works the other way round is seen, and the advice is as good.
func TestTuneSeesAReversedKnob(t *testing.T) {
	q, ok := governor.QuirkByName("knob_reversed")
	require.True(t, ok)
	r, _ := tuned(t, 2, func(p *governor.Params) { p.Gain *= 4; *p = q.Apply(*p) })
	require.InEpsilon(t, 0.5, proceduretest.Value(t, r, "gain_per_step"), 0.05)
	require.GreaterOrEqual(t, proceduretest.Value(t, r, "recommended_phase_margin"), 45.0)
}

// Nobody to turn the gain: one position, and a word about it.
func TestTuneWithNobodyThere(t *testing.T) {
	b := proceduretest.Bench(t, proceduretest.Trainer(t), nil)
	b.StandIn = nil
	r, points := tunedOn(t, b, Options{})
	require.Len(t, points, 1)
	require.Equal(t, measure.NotRun, r.Result.Find("gain_per_step").Outcome)
	require.Contains(t, r.Result.Warnings[0], "nobody was there")
}

// A person answers; the answers are steps of theirs.
func TestTuneWithAPerson(t *testing.T) {
	b := proceduretest.Bench(t, proceduretest.Trainer(t), nil)
	knob := b.StandIn.(governor.Knob)
	b.StandIn = nil
	answers := []string{"up", "up", "stop"}
	b.Ask = func(_ context.Context, q execution.Question) (string, error) {
		require.Equal(t, "gain", q.Key)
		answer := answers[0]
		answers = answers[1:]
		if answer == "up" {
			knob.Turn(1)
		}
		return answer, nil
	}
	r, points := tunedOn(t, b, Options{})
	require.Len(t, points, 3)
	require.InEpsilon(t, 1.414, proceduretest.Value(t, r, "gain_per_step"), 0.05)
}

// A servo that is far too slow: no position will do, and the servo is named.
func TestTuneWithNoGoodGain(t *testing.T) {
	m := proceduretest.Spoilt(t, "time_for_60_degrees: 110 ms\n", "time_for_60_degrees: 110 ms\n  latency: 60 ms\n")
	b := proceduretest.Bench(t, m, func(p *governor.Params) { p.IntegralTime = 0.2 })
	b.StandIn = nil
	r, points := tunedOn(t, b, Options{Speed: "circuit"})
	require.Equal(t, measure.NotRun, r.Result.Outcome, "%v %v", points, r.Found)
	require.Contains(t, r.Found[len(r.Found)-1], "servo")
}

// A proportional governor at a gain so low that its loop never reaches 1 has no
// phase margin to show: it is not known, and not 0.
func TestTuneAtAGainTooLowToCross(t *testing.T) {
	m := proceduretest.Quirky(t, "proportional_only")
	r, points := tunedOn(t, proceduretest.Bench(t, m, func(p *governor.Params) { p.Gain /= 2 }), Options{Positions: 1})
	require.Len(t, points, 1)
	require.True(t, math.IsNaN(points[0].Phase), "%+v", points[0])
	require.Contains(t, points[0].String(), "phase margin not known, so low is the gain")
	require.Nil(t, keptGains(points)[0].Phase)
	require.Equal(t, measure.NotRun, r.Result.Outcome)
}
