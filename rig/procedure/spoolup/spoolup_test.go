package spoolup

import (
	"context"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution/governed"
	"govrig/rig/measure"
	"govrig/rig/procedure/proceduretest"
	"govrig/sim/standin/governor"
)

func TestSpoolUpPassesTheStandIn(t *testing.T) {
	for _, file := range proceduretest.Machines {
		m := proceduretest.MachineOf(t, file, "none")
		for _, s := range m.Speeds {
			r, err := (&Options{AtSpeed: governed.AtSpeed{Speed: s.Name}}).Run(context.Background(), proceduretest.Attended(t, m))
			require.NoError(t, err)
			require.Equal(t, measure.Pass, r.Result.Outcome, "%s, %s: %+v", file, s.Name, r.Result)
			// The set speed rises from idling at the stand-in's own rate, which
			// nothing can be quicker than.
			rise := float64(s.HeadSpeed)*m.Ratio() - float64(m.Engine.IdleSpeed)
			require.Greater(t, proceduretest.Value(t, r, "spool_up_time"), 0.9*rise/float64(m.StandIn.SpoolRate))
			require.Greater(t, proceduretest.Value(t, r, "clutch_grab"), 1.0)
		}
	}
}

func TestSpoolUpFindsASlamAndAnOvershoot(t *testing.T) {
	m := proceduretest.MachineOf(t, "medium-15cc", "none")
	b := proceduretest.Bench(t, m, func(p *governor.Params) { p.SpoolRate *= 50 })
	r, err := (&Options{}).Run(context.Background(), b)
	require.NoError(t, err)
	require.Equal(t, measure.Fail, proceduretest.Outcome(t, r, "spool_up_time"))
	require.Contains(t, proceduretest.Words(r), "slower start")

	b = proceduretest.Bench(t, m, func(p *governor.Params) { p.SpoolRate, p.WindUp = 3*p.SpoolRate, true })
	r, err = (&Options{}).Run(context.Background(), b)
	require.NoError(t, err)
	require.Equal(t, measure.Fail, proceduretest.Outcome(t, r, "spool_up_overshoot"))
}

// A first-order rise stays within 1 % of its end after ln 100 = 4.605 time
// constants (any text on control).
func TestSpoolTime(t *testing.T) {
	m := proceduretest.MachineOf(t, "medium-15cc", "none")
	g := governed.New(m, m.Speeds[0])
	var s measure.Series
	for i := range 10_000 {
		at := float64(i) / 500
		s.T = append(s.T, 3+at)
		s.Y = append(s.Y, g.Declared()*(1-math.Exp(-at/1.5)))
	}
	require.InDelta(t, 1.5*math.Log(100), spoolTime(g, s, g.Declared()), 0.003)
}

// A speed ½·a·t² gains a·(t−τ/2) per second over the τ before t.
func TestSteepestAndDeepest(t *testing.T) {
	var s measure.Series
	for i := range 1001 {
		at := float64(i) / 500
		s.T, s.Y = append(s.T, at), append(s.Y, 300*at*at)
	}
	require.InDelta(t, 600*(2-0.05), steepest(s, 0.1), 2)
	require.Zero(t, deepest(s.Y))
	require.InDelta(t, 7.0, deepest([]float64{1, 5, 3, 9, 2, 8, 4}), 1e-12)
}

// A throttle that flaps on the way up is said to; not one that makes the small strokes
// of every governor on an engine that has not taken up its rotor.
func TestSpoolUpSeesAThrottleThatFlaps(t *testing.T) {
	m := proceduretest.Medium(t)
	for _, c := range []struct {
		gain  float64
		flaps bool
	}{{0.3, false}, {1, false}, {3, true}, {9, true}} {
		r, err := (&Options{AtSpeed: governed.AtSpeed{Speed: "circuit"}}).Run(context.Background(), proceduretest.Bench(t, m, func(p *governor.Params) { p.Gain *= c.gain }))
		require.NoError(t, err)
		t.Log(c.gain, proceduretest.Words(r))
		require.Equal(t, c.flaps, strings.Contains(proceduretest.Words(r), "flaps on the way up"), "%g: %v", c.gain, r.Found)
		require.Equal(t, c.flaps, proceduretest.Value(t, r, "throttle_travel") >= 6)
	}
}
