package tune

import (
	"context"
	"govrig/rig/execution/governed"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/procedure/proceduretest"
	"govrig/rig/procedure/sweep"
	"govrig/sim/standin/governor"
)

// tuned runs tune on the medium machine with a changed stand-in.
func tuned(t *testing.T, positions int, change func(*governor.Params)) (*execution.Run, []TunePoint) {
	return tunedOn(t, proceduretest.Bench(t, proceduretest.Medium(t), change), Options{AtSpeed: governed.AtSpeed{Speed: "circuit"}, Positions: positions})
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
	b := proceduretest.Bench(t, proceduretest.Medium(t), nil)
	b.StandIn = nil
	r, points := tunedOn(t, b, Options{})
	require.Len(t, points, 1)
	require.Equal(t, measure.NotRun, r.Result.Find("gain_per_step").Outcome)
	require.Contains(t, r.Result.Warnings[0], "nobody was there")
}

// A person answers; the answers are steps of theirs.
func TestTuneWithAPerson(t *testing.T) {
	b := proceduretest.Bench(t, proceduretest.Medium(t), nil)
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
	r, points := tunedOn(t, b, Options{AtSpeed: governed.AtSpeed{Speed: "circuit"}})
	require.Equal(t, measure.NotRun, r.Result.Outcome, "%v %v", points, r.Found)
	require.Contains(t, r.Found[len(r.Found)-1], "servo")
}

// A proportional governor at a gain so low that its loop crosses 1 below the usual
// sines has its margin from slow ones: the plant alone, with little gain, keeps more
// than 90°. One that never crosses has none to show: it is not known, and not 0.
func TestTuneAtALowGain(t *testing.T) {
	m := proceduretest.Quirky(t, "proportional_only")
	_, points := tunedOn(t, proceduretest.Bench(t, m, func(p *governor.Params) { p.Gain /= 2.5 }), Options{Positions: 1})
	require.Len(t, points, 1)
	require.Greater(t, points[0].Phase, 90.0, "%+v", points[0])
	none := TunePoint{Phase: math.NaN(), Margin: 20}
	require.Contains(t, none.String(), "phase margin not known (the loop does not cross 1")
	require.Nil(t, keptGains([]TunePoint{none})[0].Phase)
	require.False(t, none.calm())
}

// A governor that hunts before the first question is said to hunt, and is turned
// down until it is calm; the person is asked to do just that.
func TestTuneOfAGovernorThatHunts(t *testing.T) {
	r, points := tuned(t, 0, func(p *governor.Params) { p.Gain *= 12 })
	require.True(t, points[0].unheld)
	require.Contains(t, r.Found[0], "hunts under light load")
	require.Greater(t, len(points), 2)
	require.Less(t, proceduretest.Value(t, r, "recommended_position"), 0.0)
	require.GreaterOrEqual(t, proceduretest.Value(t, r, "recommended_phase_margin"), 45.0)
	require.Contains(t, proceduretest.Words(r), "towards less gain")

	b := proceduretest.Bench(t, proceduretest.Medium(t), func(p *governor.Params) { p.Gain *= 12 })
	knob := b.StandIn.(governor.Knob)
	b.StandIn = nil
	var asked []string
	b.Ask = func(_ context.Context, q execution.Question) (string, error) {
		if asked = append(asked, q.Text); len(asked) == 1 {
			knob.Turn(-8)
			return "down", nil
		}
		return "stop", nil
	}
	r, points = tunedOn(t, b, Options{AtSpeed: governed.AtSpeed{Speed: "circuit"}})
	require.Contains(t, asked[0], "The governor hunts. Turn its gain down")
	require.NotContains(t, asked[1], "hunts")
	require.Len(t, points, 2)
	require.Equal(t, 1.0, proceduretest.Value(t, r, "positions_measured"))
	require.Equal(t, measure.Pass, proceduretest.Outcome(t, r, "governor_engaged"))
}

// One that hunts at one position, and at the next holds no speed without hunting, is
// said to hunt at the first alone.
func TestTuneToWhereNothingIsHeld(t *testing.T) {
	b := proceduretest.Bench(t, proceduretest.Medium(t), func(p *governor.Params) { p.Gain *= 12 })
	knob := b.StandIn.(governor.Knob)
	b.StandIn = nil
	var asked []string
	b.Ask = func(_ context.Context, q execution.Question) (string, error) {
		if asked = append(asked, q.Text); len(asked) == 1 {
			knob.Turn(-60)
			return "down", nil
		}
		return "stop", nil
	}
	r, points := tunedOn(t, b, Options{AtSpeed: governed.AtSpeed{Speed: "circuit"}})
	require.Len(t, points, 2)
	require.Contains(t, points[0].String(), "the governor hunts")
	require.Equal(t, "Gain at -1: not measured, the governor does not hold its speed there.", points[1].String())
	require.Contains(t, asked[1], "does not hold a speed here")
	require.Equal(t, 1, strings.Count(proceduretest.Words(r), "hunts under"))
	require.NotContains(t, proceduretest.Words(r), "±0 rpm")
	require.NotEqual(t, measure.Pass, r.Result.Outcome)
}

// A gain margin beyond the lines is what is sure, one of which nothing is known is
// none, and neither is without end.
func TestMarginsThatAreBounds(t *testing.T) {
	for _, c := range []struct {
		gain, least measure.Reading
		says        string
		kept, calm  bool
	}{
		{measure.Read(4), measure.Read(4), "gain margin 12.0 dB", true, true},
		{measure.Missing("none"), measure.Read(4), "gain margin at least 12.0 dB", true, true},
		{measure.Missing("none"), measure.Read(1.5), "gain margin at least 3.5 dB", true, false},
		{measure.Missing("none"), measure.Missing("none"), "gain margin not known", false, false},
	} {
		p := TunePoint{Phase: math.Inf(1), Margin: math.Inf(1)}
		for range 2 {
			var s sweep.SweepPoint
			s.Margins.Phase, s.Margins.Sensitivity, s.Margins.Gain, s.Margins.GainAtLeast = measure.Read(60), measure.Read(1.4), c.gain, c.least
			p.worst(&s)
		}
		require.Contains(t, p.String(), c.says)
		require.NotContains(t, p.String(), "without end")
		require.Equal(t, c.kept, keptGains([]TunePoint{p})[0].Margin != nil)
		require.Equal(t, c.calm, p.calm())
	}
}
