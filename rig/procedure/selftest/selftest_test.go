package selftest

import (
	"context"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/procedure/proceduretest"
	"govrig/sim/standin/board"
	"govrig/sim/standin/governor"
)

// jumpered runs the self test on a virtual board with jumpers.
func jumpered(t *testing.T, jumpers ...board.Jumper) *execution.Run {
	b := &execution.Bench{Board: board.New(board.Options{Jumpers: jumpers}), Where: "virtual"}
	r, err := (&Options{}).Run(context.Background(), b)
	require.NoError(t, err)
	return r
}

var (
	pickupToProbe    = board.Jumper{From: governor.Pickup, To: board.Probe}
	pickupToThrottle = board.Jumper{From: governor.Pickup, To: board.Throttle}
	stickToProbe     = board.Jumper{From: governor.Stick, To: board.Probe}
	stickToThrottle  = board.Jumper{From: governor.Stick, To: board.Throttle}
	selectToThrottle = board.Jumper{From: governor.Select, To: board.Throttle}
	pickupUpside     = board.Jumper{From: governor.Pickup, To: board.Probe, Inverted: true}
)

// With both jumpers right every pulse comes back, exact to the tick, on a
// board without a machine file.
func TestSelfTestPasses(t *testing.T) {
	r := jumpered(t, pickupToProbe, stickToThrottle)
	require.Equal(t, measure.Pass, r.Result.Outcome, "%+v", r.Result)
	for _, name := range []string{
		"pickup_pulses_missing", "pickup_pulses_stray", "pickup_delay", "pickup_jitter", "pickup_width_error",
		"low_pulses_missing", "stick_pulses_missing", "stick_frame_error", "stick_width_error", "frames_lost",
	} {
		require.InDelta(t, 0, proceduretest.Value(t, r, name), 1e-3, name)
	}
	require.Greater(t, proceduretest.Value(t, r, "loop_delay"), 0.0)
	require.Contains(t, r.Found[0], "Both jumpers are right")
	clock := r.Result.Find("clock_error")
	require.Nil(t, clock.Value)
	require.Contains(t, clock.Warnings[0], "no real time")
}

// miswired are jumpers put in wrong, and how the self test names what is wrong.
var miswired = []struct {
	name    string
	jumpers []board.Jumper
	found   []string
}{
	{"none", nil, []string{"Nothing of the pickup line (D9)", "Nothing of the stick line (D10)"}},
	{"stick missing", []board.Jumper{pickupToProbe}, []string{"Nothing of the stick line (D10) comes back: its jumper to the throttle line (D8) is missing"}},
	{"pickup missing", []board.Jumper{stickToThrottle}, []string{"Nothing of the pickup line (D9) comes back: its jumper to the pickup probe (D7) is missing"}},
	{"swapped", []board.Jumper{pickupToThrottle, stickToProbe}, []string{"The two jumpers are swapped"}},
	{"pickup astray", []board.Jumper{pickupToThrottle}, []string{"The pickup line (D9) comes back at the throttle line (D8)", "Nothing of the stick line"}},
	{"stick astray", []board.Jumper{stickToProbe}, []string{"Nothing of the pickup line", "The stick line (D10) comes back at the pickup probe (D7)"}},
	{"select for stick", []board.Jumper{pickupToProbe, selectToThrottle}, []string{"The jumper to the throttle line (D8) is on the select line (D11); it should be on the stick line (D10)"}},
	{"joined at the probe", []board.Jumper{pickupToProbe, stickToProbe}, []string{"Two outputs are joined: both come back at the pickup probe (D7)"}},
	{"a wire too many", []board.Jumper{pickupToProbe, pickupToThrottle}, []string{"The pickup line (D9) comes back at both inputs", "Nothing of the stick line"}},
	{"upside down", []board.Jumper{pickupUpside, stickToThrottle}, []string{"The pickup line (D9) comes back upside down"}},
}

// Every wire that is missing, swapped or on a wrong pin is named, and no other.
func TestSelfTestNamesTheWire(t *testing.T) {
	for _, c := range miswired {
		t.Run(c.name, func(t *testing.T) { requireNamed(t, jumpered(t, c.jumpers...), c.found) })
	}
}

// requireNamed wants sentences that begin so to have been found, and no other.
func requireNamed(t *testing.T, r *execution.Run, found []string) {
	require.Len(t, r.Found, len(found), "%q", r.Found)
	for i, part := range found {
		require.True(t, strings.HasPrefix(r.Found[i], part), "%q", r.Found[i])
	}
	require.Contains(t, r.Next[0], "D9 to D7, D10 to D8")
	require.Equal(t, measure.Fail, r.Result.Outcome)
}

// A stick pulse a microsecond too wide, or an edge 300 ns off, fails.
func TestSelfTestSeesASmallError(t *testing.T) {
	wanted := framesFrom([]execution.Pulse{{Start: 1, Width: stickWidth}}, stickWidth)
	require.False(t, hear(wanted, nil).clear())
	got := slices.Clone(wanted)
	got[7].Width += 1e-6
	got[9].Start += 300e-9
	h := hear(wanted, got)
	require.True(t, h.clear())
	limit := func(name string) *measure.Limit {
		declared := selfTestMeasures(false)
		at := slices.IndexFunc(declared, func(d measure.Declaration) bool { return d.Name == name })
		return declared[at].Limit
	}
	require.False(t, limit("stick_width_error").Met(h.Width.Worst()*nano))
	require.False(t, limit("stick_frame_error").Met(h.Delay.Worst()*nano))
	require.False(t, limit("pickup_jitter").Met(h.Delay.Range()*nano))
	require.True(t, limit("pickup_delay").Met(h.Delay.Mean*micro))
}
