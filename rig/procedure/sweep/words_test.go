package sweep

import (
	"context"
	"govrig/rig/execution/governed"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/measure/loop"
	"govrig/rig/procedure/proceduretest"
	"govrig/sim/standin/governor"
)

func swept(t *testing.T, spoil func(*governor.Params)) (Sweep, *execution.Run) {
	var s Sweep
	r, err := s.Measure(context.Background(), proceduretest.Bench(t, proceduretest.Medium(t), spoil), &Options{AtSpeeds: governed.AtEach("circuit")})
	require.NoError(t, err)
	t.Logf("%.0f s: %s", proceduretest.Lasted(r), proceduretest.Words(r))
	return s, r
}

// What is said of each governor is what is true of it, and nothing of the others'.
func TestWhatSweepSays(t *testing.T) {
	const linear, dead, other, hunts, high, calm, below, further = "linear enough", "dead band", "the response is another", "hunts under",
		"too high for a calm loop", "times the gain", "below 1 at all", "further than that was not measured"
	all := []string{linear, dead, other, hunts, high, calm, below, further}
	for name, c := range map[string]struct {
		outcome measure.Outcome
		says    []string
		spoil   func(*governor.Params)
	}{
		"plain":              {measure.Pass, []string{linear, calm}, nil},
		"coarse output":      {measure.Pass, []string{other}, func(p *governor.Params) { p.OutputStep = 80e-6 }},
		"very coarse":        {measure.NotRun, []string{other}, func(p *governor.Params) { p.OutputStep = 160e-6 }},
		"somewhat coarse":    {measure.Pass, []string{linear, calm}, func(p *governor.Params) { p.OutputStep = 20e-6 }},
		"quick frames":       {measure.Pass, []string{linear, calm}, func(p *governor.Params) { p.FrameRate = 300 }},
		"gain too high":      {measure.Fail, []string{linear, high}, func(p *governor.Params) { p.Gain *= 8 }},
		"hunts":              {measure.NotRun, []string{hunts}, func(p *governor.Params) { p.Gain *= 12 }},
		"hunts when heavy":   {measure.Fail, []string{linear, hunts}, func(p *governor.Params) { p.Gain *= 9.5 }},
		"next to no gain":    {measure.NotRun, []string{linear, below, calm, further}, func(p *governor.Params) { p.Gain *= 0.02; p.IntegralTime = 0.5 }},
		"slow, and next not": {measure.Pass, []string{linear, calm}, func(p *governor.Params) { p.Gain *= 0.5; p.IntegralTime = 0 }},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			_, r := swept(t, c.spoil)
			words := proceduretest.Words(r)
			for _, said := range all {
				require.Equal(t, strings.Contains(strings.Join(c.says, "|"), said), strings.Contains(words, said), said)
			}
			require.Equal(t, c.outcome, r.Result.Outcome)
			require.NotContains(t, words, "without end")
		})
	}
}

// What the output's coarse steps make of the sway is another response at each
// amplitude: nothing is advised from it, and no gain or delay is read from a poor fit.
func TestNoAdviceBehindACoarseOutput(t *testing.T) {
	_, plain := swept(t, nil)
	_, coarse := swept(t, func(p *governor.Params) { p.OutputStep = 80e-6 })
	require.Equal(t, measure.Pass, proceduretest.Outcome(t, plain, "advised_gain_factor"))
	require.Equal(t, measure.NotRun, proceduretest.Outcome(t, coarse, "advised_gain_factor"))
	require.Contains(t, coarse.Result.Find("advised_gain_factor").Warnings[0], "another one at another amplitude")
	for _, name := range []string{"governor_gain_light", "governor_delay_light"} {
		require.Equal(t, measure.NotRun, proceduretest.Outcome(t, coarse, name))
		require.Contains(t, coarse.Result.Find(name).Warnings[0], "does not describe it")
		require.Equal(t, measure.Pass, proceduretest.Outcome(t, plain, name))
	}
}

// A slow governor is swept down to where its integral and its crossover show, and
// one without an integral is not given one.
func TestSlowGovernors(t *testing.T) {
	s, r := swept(t, func(p *governor.Params) { p.Gain *= 0.3; p.IntegralTime = 8 })
	require.InEpsilon(t, 8, proceduretest.Value(t, r, "governor_integral_time_light"), 0.1)
	require.Less(t, s.Points[0].Response[0].Frequency, 0.06)
	p := proceduretest.Medium(t).GovernorParams(16e6)
	p.Gain *= 0.3
	p.IntegralTime = 8
	for _, point := range s.Points {
		truth := func(w float64) complex128 {
			return -p.Response(w, 1660*proceduretest.Medium(t).Ratio()/execution.RPM, 1.46e-3) * complex(1e6/execution.RPM, 0) * point.Plant(w)
		}
		exact, err := loop.MarginsOf(truth, loop.Band{Min: 0.1, Max: 100})
		require.NoError(t, err)
		require.InDelta(t, exact.Phase.Value, point.Margins.Phase.Value, 3)
		require.InEpsilon(t, exact.Crossover.Value, point.Margins.Crossover.Value, 0.05)
	}
	_, r = swept(t, func(p *governor.Params) { p.IntegralTime = 0 })
	require.Equal(t, measure.NotRun, proceduretest.Outcome(t, r, "governor_integral_time_light"))
	s, _ = swept(t, nil)
	require.Greater(t, s.Points[0].Response[0].Frequency, 0.2, "nothing slow is played where it is not needed")
}

// A gain margin that the lines do not show is a bound, which passes where it keeps
// the limit, and tells nothing where it does not.
func TestGainMarginIsABound(t *testing.T) {
	p := SweepPoint{Name: "light"}
	p.Loop.Band = loop.Band{Min: 1, Max: 50}
	p.Margins.Gain = measure.Missing("not seen")
	p.Margins.GainAtLeast = measure.Read(10)
	require.InDelta(t, 20, p.gainMargin().Value, 1e-9)
	require.Contains(t, p.gainMargin().Detail, "at least: up to 8 Hz")
	p.Margins.GainAtLeast = measure.Read(1.5)
	require.Contains(t, p.gainMargin().Why, "only 3.5 dB are sure")
	p.Margins.GainAtLeast = measure.Missing("the gain is still 2")
	require.Contains(t, p.gainMargin().Why, "still 2")
	p.Margins.Gain = measure.Read(2)
	require.InDelta(t, 6.02, p.gainMargin().Value, 0.01)
}

// A servo that opens the throttle with a shorter pulse has the same numbers.
func TestAServoThatGoesTheOtherWay(t *testing.T) {
	m := proceduretest.Load(t, "large-23cc")
	require.Less(t, m.Servo.OpenPulse, m.Servo.ClosedPulse)
	var s Sweep
	r, err := s.Measure(context.Background(), proceduretest.Bench(t, m, nil), &Options{AtSpeeds: governed.AtEach("hover")})
	require.NoError(t, err)
	require.Equal(t, measure.Pass, r.Result.Outcome)
	p := m.GovernorParams(16e6)
	require.InEpsilon(t, p.Gain*(p.ThrottleClosed-p.ThrottleOpen)*1e9/execution.RPM, proceduretest.Value(t, r, "governor_gain_light"), 0.05)
	require.InEpsilon(t, p.IntegralTime, proceduretest.Value(t, r, "governor_integral_time_light"), 0.05)
	require.Less(t, proceduretest.Value(t, r, "expected_dip"), -1.0)
}
