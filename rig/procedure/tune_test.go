package procedure

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
	"govrig/sim/standin/governor"
)

// tuned runs tune on the trainer with a changed stand-in.
func tuned(t *testing.T, positions int, change func(*governor.Params)) *Run {
	r, err := Tune(context.Background(), bench(t, trainer(t), change), TuneOptions{Speed: "circuit", Positions: positions})
	require.NoError(t, err)
	return r
}

// The knob goes from half the gain to sixteen times: the rig sees each step
// double it, keeps clear of the hunting end, and takes the calm position that
// dips least.
func TestTuneFindsTheKnob(t *testing.T) {
	positions := 7
	if raced {
		positions = 2
	}
	r := tuned(t, positions, nil)
	require.Equal(t, measure.Pass, r.Result.Outcome, "%+v", r.Result)
	require.Len(t, r.Tune, positions)
	require.InEpsilon(t, 2.0, value(t, r, "gain_per_step"), 0.05)
	if raced {
		return
	}
	require.InDelta(t, 2, value(t, r, "recommended_position"), 1)
	require.NotEmpty(t, r.Tune[6].Why, "sixteen times the gain hunts, which is said")
	require.GreaterOrEqual(t, value(t, r, "recommended_phase_margin"), 45.0)
}

// A knob that works the other way round is seen, and the advice is as good.
func TestTuneSeesAReversedKnob(t *testing.T) {
	q, ok := governor.QuirkByName("knob_reversed")
	require.True(t, ok)
	r := tuned(t, 2, func(p *governor.Params) { p.Gain *= 4; *p = q.Apply(*p) })
	require.InEpsilon(t, 0.5, value(t, r, "gain_per_step"), 0.05)
	require.GreaterOrEqual(t, value(t, r, "recommended_phase_margin"), 45.0)
}

// Nobody to turn the gain: one position, and a word about it.
func TestTuneWithNobodyThere(t *testing.T) {
	b := bench(t, trainer(t), nil)
	b.StandIn = nil
	r, err := Tune(context.Background(), b, TuneOptions{})
	require.NoError(t, err)
	require.Len(t, r.Tune, 1)
	require.Equal(t, measure.NotRun, r.Result.Find("gain_per_step").Outcome)
	require.Contains(t, r.Result.Warnings[0], "nobody was there")
}

// A person answers; the answers are steps of theirs.
func TestTuneWithAPerson(t *testing.T) {
	b := bench(t, trainer(t), nil)
	knob := b.StandIn
	b.StandIn = nil
	answers := []string{"up", "up", "stop"}
	b.Ask = func(_ context.Context, q Question) (string, error) {
		require.Equal(t, "gain", q.Key)
		answer := answers[0]
		answers = answers[1:]
		if answer == "up" {
			knob.Turn(1)
		}
		return answer, nil
	}
	r, err := Tune(context.Background(), b, TuneOptions{})
	require.NoError(t, err)
	require.Len(t, r.Tune, 3)
	require.InEpsilon(t, 1.414, value(t, r, "gain_per_step"), 0.05)
}

// A servo that is far too slow: no position will do, and the servo is named.
func TestTuneWithNoGoodGain(t *testing.T) {
	m := spoilt(t, "time_for_60_degrees: 110 ms\n", "time_for_60_degrees: 110 ms\n  latency: 60 ms\n")
	b := bench(t, m, func(p *governor.Params) { p.IntegralTime = 0.2 })
	b.StandIn = nil
	r, err := Tune(context.Background(), b, TuneOptions{Speed: "circuit"})
	require.NoError(t, err)
	require.Equal(t, measure.NotRun, r.Result.Outcome, "%v %v", r.Tune, r.Found)
	require.Contains(t, r.Found[len(r.Found)-1], "servo")
}

// A proportional governor at a gain so low that its loop never reaches 1 has no
// phase margin to show: it is not known, and not 0.
func TestTuneAtAGainTooLowToCross(t *testing.T) {
	m := quirky(t, "proportional_only")
	r, err := Tune(context.Background(), bench(t, m, func(p *governor.Params) { p.Gain /= 2 }), TuneOptions{Positions: 1})
	require.NoError(t, err)
	require.Len(t, r.Tune, 1)
	require.True(t, math.IsNaN(r.Tune[0].Phase), "%+v", r.Tune[0])
	require.Contains(t, r.Tune[0].String(), "phase margin not known, so low is the gain")
	require.Nil(t, keptGains(r.Tune)[0].Phase)
	require.Equal(t, measure.NotRun, r.Result.Outcome)
}
