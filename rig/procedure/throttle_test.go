package procedure

import (
	"context"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
	"govrig/rig/measure/pulse"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
)

var machines = []string{"trainer-15cc", "sparrow-6cc", "camera-23cc"}

func load(t testing.TB, name string) *machine.Machine {
	m, err := machine.Load("../../testdata/machines/" + name + ".yaml")
	require.NoError(t, err)
	return m
}

// quirky is the trainer with a quirk of its stand-in governor.
func quirky(t testing.TB, quirk machine.Quirk) *machine.Machine {
	m := trainer(t)
	m.StandIn.Quirk = quirk
	return m
}

// failed are the measures that missed their limit.
func failed(r *Run) (names []string) {
	for _, m := range r.Result.Measures {
		if m.Outcome == measure.Fail {
			names = append(names, m.Name)
		}
	}
	return names
}

func said(r *Run) string { return strings.Join(append(r.Found, r.Next...), "\n") }

// seconds a procedure took by the board's clock.
func lasted(r *Run) float64 { return r.Trace.Time[len(r.Trace.Time)-1] }

// Through the wire come the stand-in's own figures: the thresholds within
// 2 µs, the frame rate within 0.1 %, the step exactly.
func TestThrottleFindsTheStandIn(t *testing.T) {
	for _, name := range machines {
		t.Run(name, func(t *testing.T) {
			m := load(t, name)
			p := m.GovernorParams(board.TickHz)
			r, err := Throttle(context.Background(), bench(t, m, nil), ThrottleOptions{})
			require.NoError(t, err)
			require.Equal(t, measure.Pass, r.Result.Outcome, "%+v", r.Result)
			travel := math.Abs(p.ThrottleOpen-p.ThrottleClosed) * 1e6 // µs
			require.InDelta(t, p.ArmOn*travel, value(t, r, "arming_threshold")/100*travel, 2)
			require.InDelta(t, p.ArmOff*travel, value(t, r, "release_threshold")/100*travel, 2)
			require.InEpsilon(t, p.FrameRate, value(t, r, "output_frame_rate"), 1e-3)
			require.InEpsilon(t, p.OutputStep*1e6, value(t, r, "output_step"), 1e-9)
			require.InDelta(t, p.ThrottleClosed*1e6, value(t, r, "throttle_closed_end"), p.OutputStep*1e6)
			require.InDelta(t, p.ThrottleOpen*1e6, value(t, r, "throttle_open_end"), p.OutputStep*1e6)
			require.InDelta(t, 1, value(t, r, "throttle_slope"), 0.01)
			require.Less(t, value(t, r, "time_to_follow"), 22+1e3/p.FrameRate+4)
			require.Less(t, lasted(r), 60.0)
		})
	}
}

// The trainer's rod is 2 mm short: the linkage gets the word, not the governor.
func TestThrottleBlamesTheRod(t *testing.T) {
	r, err := Throttle(context.Background(), bench(t, trainer(t), nil), ThrottleOptions{})
	require.NoError(t, err)
	require.Contains(t, said(r), "Make the rod 64.0 mm long instead of 62.0 mm")
	r, err = Throttle(context.Background(), bench(t, load(t, "sparrow-6cc"), nil), ThrottleOptions{})
	require.NoError(t, err)
	require.Empty(t, r.Next)
}

func TestThrottleCatchesQuirks(t *testing.T) {
	for quirk, want := range map[machine.Quirk]struct{ measure, words string }{
		"slow_frames":   {"output_frame_rate", "slow frames"},
		"coarse_output": {"output_step", "coarse"},
		"no_hysteresis": {"arming_hysteresis", "no hysteresis"},
	} {
		r, err := Throttle(context.Background(), bench(t, quirky(t, quirk), nil), ThrottleOptions{})
		require.NoError(t, err)
		require.Equal(t, measure.Fail, r.Result.Outcome)
		require.Equal(t, []string{want.measure}, failed(r))
		require.Contains(t, said(r), want.words)
	}
}

// What is wrong elsewhere is no fault of the throttle line.
func TestThrottleBlamesNobodyElse(t *testing.T) {
	for _, quirk := range []machine.Quirk{"proportional_only", "wind_up", "loss_opens", "deaf_when_fast", "counts_twice", "coarse_setting"} {
		r, err := Throttle(context.Background(), bench(t, quirky(t, quirk), nil), ThrottleOptions{})
		require.NoError(t, err)
		require.Equal(t, measure.Pass, r.Result.Outcome, "%s: %+v", quirk, r.Result)
	}
}

// A governor that hears nothing arms at nothing: not run, with the way on.
func TestThrottleWithoutHearing(t *testing.T) {
	r, err := Throttle(context.Background(), bench(t, quirky(t, "other_polarity"), nil), ThrottleOptions{})
	require.NoError(t, err)
	require.Equal(t, measure.NotRun, r.Result.Outcome)
	require.Equal(t, measure.NotRun, r.Result.Find("arming_threshold").Outcome)
	require.Contains(t, said(r), "accept")
}

// A board that counts half a per cent too fast plays and times every pulse that
// much too short; the computer's clock puts it right.
func TestThrottleOnAFastBoard(t *testing.T) {
	const fast = 1.005
	m := trainer(t)
	p := m.GovernorParams(board.TickHz)
	b := bench(t, m, nil)
	now := b.Board.(*board.Board).Now
	b.Clock = func() time.Duration { return time.Duration(float64(now()) / board.TickHz / fast * 1e9) }
	r, err := Throttle(context.Background(), b, ThrottleOptions{})
	require.NoError(t, err)
	closed, open := p.ThrottleClosed*1e6, p.ThrottleOpen*1e6
	require.InDelta(t, closed/fast, value(t, r, "throttle_closed_end"), 0.1)
	require.InDelta(t, open/fast, value(t, r, "throttle_open_end"), 0.1)
	require.InEpsilon(t, p.FrameRate*fast, value(t, r, "output_frame_rate"), 1e-4)
	require.InEpsilon(t, p.OutputStep*1e6/fast, value(t, r, "output_step"), 1e-4)
	stick := (closed + p.ArmOn*(open-closed)) / fast
	require.InDelta(t, stick, closed+value(t, r, "arming_threshold")/100*(open-closed), 2)
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
	b := &Bench{Machine: trainer(t), Board: board.New(board.Options{}), Where: "virtual"}
	r, err := Throttle(context.Background(), b, ThrottleOptions{})
	require.NoError(t, err)
	require.Equal(t, measure.NotRun, r.Result.Outcome)
	require.Contains(t, said(r), "its own supply")
}
