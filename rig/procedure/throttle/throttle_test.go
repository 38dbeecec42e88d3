package throttle

import (
	"context"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/measure/pulse"
	"govrig/rig/procedure/proceduretest"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
)

// Through the wire come the stand-in's own figures: the thresholds within
// 2 µs, the frame rate within 0.1 %, the step exactly.
func TestThrottleFindsTheStandIn(t *testing.T) {
	for _, name := range proceduretest.Machines {
		t.Run(name, func(t *testing.T) {
			m := proceduretest.Load(t, name)
			p := m.GovernorParams(board.TickHz)
			r, err := (&Options{}).Run(context.Background(), proceduretest.Bench(t, m, nil))
			require.NoError(t, err)
			require.Equal(t, measure.Pass, r.Result.Outcome, "%+v", r.Result)
			travel := math.Abs(p.ThrottleOpen-p.ThrottleClosed) * 1e6 // µs
			require.InDelta(t, p.ArmOn*travel, proceduretest.Value(t, r, "arming_threshold")/100*travel, 2)
			require.InDelta(t, p.ArmOff*travel, proceduretest.Value(t, r, "release_threshold")/100*travel, 2)
			require.InEpsilon(t, p.FrameRate, proceduretest.Value(t, r, "output_frame_rate"), 1e-3)
			require.InEpsilon(t, p.OutputStep*1e6, proceduretest.Value(t, r, "output_step"), 1e-9)
			require.InDelta(t, p.ThrottleClosed*1e6, proceduretest.Value(t, r, "throttle_closed_end"), p.OutputStep*1e6)
			require.InDelta(t, p.ThrottleOpen*1e6, proceduretest.Value(t, r, "throttle_open_end"), p.OutputStep*1e6)
			require.InDelta(t, 1, proceduretest.Value(t, r, "throttle_slope"), 0.01)
			require.Less(t, proceduretest.Value(t, r, "time_to_follow"), 22+1e3/p.FrameRate+4)
			require.Less(t, proceduretest.Lasted(r), 90.0)
		})
	}
}

// The medium machine's rod is 2 mm short: the linkage gets the word, not the governor.
func TestThrottleBlamesTheRod(t *testing.T) {
	r, err := (&Options{}).Run(context.Background(), proceduretest.Bench(t, proceduretest.Medium(t), nil))
	require.NoError(t, err)
	require.Contains(t, proceduretest.Words(r), "Make the rod 64.0 mm long instead of 62.0 mm")
	r, err = (&Options{}).Run(context.Background(), proceduretest.Bench(t, proceduretest.Load(t, "small-6cc"), nil))
	require.NoError(t, err)
	require.Empty(t, r.Next)
}

func TestThrottleCatchesQuirks(t *testing.T) {
	for quirk, want := range map[machine.Quirk]struct{ measure, words string }{
		"slow_frames":   {"output_frame_rate", "slow frames"},
		"coarse_output": {"output_step", "coarse"},
		"no_hysteresis": {"arming_hysteresis", "no hysteresis"},
	} {
		r, err := (&Options{}).Run(context.Background(), proceduretest.Bench(t, proceduretest.Quirky(t, quirk), nil))
		require.NoError(t, err)
		require.Equal(t, measure.Fail, r.Result.Outcome)
		require.Equal(t, []string{want.measure}, proceduretest.Failed(r))
		require.Contains(t, proceduretest.Words(r), want.words)
	}
}

// What is wrong elsewhere is no fault of the throttle line.
func TestThrottleBlamesNobodyElse(t *testing.T) {
	for _, quirk := range []machine.Quirk{"proportional_only", "wind_up", "loss_opens", "deaf_when_fast", "counts_twice", "coarse_setting"} {
		r, err := (&Options{}).Run(context.Background(), proceduretest.Bench(t, proceduretest.Quirky(t, quirk), nil))
		require.NoError(t, err)
		require.Equal(t, measure.Pass, r.Result.Outcome, "%s: %+v", quirk, r.Result)
	}
}

// A governor that hears nothing arms at nothing: not run, with the way on.
func TestThrottleWithoutHearing(t *testing.T) {
	r, err := (&Options{}).Run(context.Background(), proceduretest.Bench(t, proceduretest.Quirky(t, "other_polarity"), nil))
	require.NoError(t, err)
	require.Equal(t, measure.NotRun, r.Result.Outcome)
	require.Equal(t, measure.NotRun, r.Result.Find("arming_threshold").Outcome)
	require.Contains(t, proceduretest.Words(r), "accept")
}

// A board that counts half a per cent too fast plays and times every pulse that
// much too short; the computer's clock puts it right.
func TestThrottleOnAFastBoard(t *testing.T) {
	const fast = 1.005
	m := proceduretest.Medium(t)
	p := m.GovernorParams(board.TickHz)
	b := proceduretest.Bench(t, m, nil)
	now := b.Board.(*board.Board).Now
	b.Clock = func() time.Duration { return time.Duration(float64(now()) / board.TickHz / fast * 1e9) }
	r, err := (&Options{}).Run(context.Background(), b)
	require.NoError(t, err)
	closed, open := p.ThrottleClosed*1e6, p.ThrottleOpen*1e6
	require.InDelta(t, closed/fast, proceduretest.Value(t, r, "throttle_closed_end"), 0.1)
	require.InDelta(t, open/fast, proceduretest.Value(t, r, "throttle_open_end"), 0.1)
	require.InEpsilon(t, p.FrameRate*fast, proceduretest.Value(t, r, "output_frame_rate"), 1e-4)
	require.InEpsilon(t, p.OutputStep*1e6/fast, proceduretest.Value(t, r, "output_step"), 1e-4)
	stick := (closed + p.ArmOn*(open-closed)) / fast
	require.InDelta(t, stick, closed+proceduretest.Value(t, r, "arming_threshold")/100*(open-closed), 2)
}

// What the throttle does while the stick goes up, in words.
func TestCourseInWords(t *testing.T) {
	follow := pulse.Line{Slope: 1, From: 0, To: 0.3}
	for want, c := range map[string]course{
		"does not follow the stick":                                    {},
		"follows the stick over its whole way":                         {follows: true, line: pulse.Line{Slope: 1, To: 1}, throttle: []float64{1}},
		"follows the stick up to about 30 % and shuts above":           {follows: true, line: follow, throttle: []float64{0}},
		"follows the stick up to about 30 % and opens by itself above": {follows: true, line: follow, throttle: []float64{1}},
		"follows the stick up to about 30 %":                           {follows: true, line: follow, throttle: []float64{0.3}},
	} {
		require.Equal(t, want, c.words())
	}
}

func TestThrottleLineIsDead(t *testing.T) {
	b := &execution.Bench{Machine: proceduretest.Medium(t), Board: board.New(board.Options{}), Where: "virtual"}
	r, err := (&Options{}).Run(context.Background(), b)
	require.NoError(t, err)
	require.Equal(t, measure.NotRun, r.Result.Outcome)
	require.Contains(t, proceduretest.Words(r), "its own supply")
}
