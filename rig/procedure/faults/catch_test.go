package faults

import (
	"context"
	"govrig/rig/execution/governed"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
	"govrig/rig/procedure/proceduretest"
)

// pickupGone are the faults that leave a governor without its pickup.
var pickupGone = []string{
	"the pickup lost", "the pickup's idle level drifting until no pulse is felt any more", "the pickup lost as a load goes off",
	"the pickup lost during the spool-up", "the governor switched on with the stick up",
}

// Each sick governor is caught by its faults and by no other, the danger said first;
// the healthy one of the same structure by none.
func TestFaultsCatchTheSick(t *testing.T) {
	for name, c := range map[string]struct {
		sick   sick
		danger string
		faults []string
		says   string
	}{
		"healthy":  {sick{}, "All 19 faults that were tried are safe.", nil, ""},
		"idles so": {sick{stop: 0.07}, "All 19 faults that were tried are safe.", nil, ""},
		"low stop": {sick{lowIdle: 0.015}, "All 19 faults that were tried are safe.", nil, ""},
		"high":     {sick{high: true}, "All 19 faults that were tried are safe.", nil, "engages only above 60 % of the stick's travel: it did at 100 %"},
		"keeps":    {sick{loss: keeps}, "With the pickup lost the throttle stays open: ", pickupGone, "the pickup lost: the throttle stays open, at 63 %"},
		"fails":    {sick{loss: fails}, "With the pickup lost the throttle stays open: ", pickupGone, "the engine runs away: the throttle is 100 % open"},
		"not shut": {sick{lowIdle: 0.06}, "With the pickup lost the throttle stays open: ", pickupGone, "stays open, at 6 %"},
		"deaf": {
			sick{deaf: true}, "With the stick lead pulled the throttle stays open: ",
			[]string{"the stick lead pulled", "the leads of stick and select pulled"}, "",
		},
		"latches": {
			sick{latches: 2e-3}, "With a select pulse longer than any setting the throttle stays wide open: ",
			[]string{"a select pulse longer than any setting"}, "the engine runs away",
		},
		"stops": {
			sick{stops: true}, "With a few stray pulses the governor neither holds the speed nor closes the throttle",
			[]string{"a few stray pulses", "every pulse doubled for half a second"}, "the throttle no longer answers",
		},
		"takes up": {
			sick{unready: true}, "With the governor switched on with the stick up the throttle stays open: ",
			[]string{"the governor switched on with the stick up"}, "",
		},
	} {
		r, err := (&Options{}).Run(context.Background(), ward(t, medium(t), c.sick))
		require.NoError(t, err)
		require.Equal(t, c.faults, notSafe(r), name)
		require.True(t, strings.HasPrefix(r.Found[0], c.danger), "%s: %s", name, r.Found[0])
		require.Contains(t, proceduretest.Words(r), c.says, name)
		require.Equal(t, c.sick.high, strings.Contains(proceduretest.Words(r), "engages only"), name)
		require.Equal(t, c.faults == nil, r.Result.Outcome == measure.Pass, name)
		require.Equal(t, c.faults != nil, strings.Contains(proceduretest.Words(r), "tart no engine"), name)
	}
}

// One that goes by the shortest interval runs at half the speed after stray pulses, and
// hunting through a closed throttle is not closed.
func TestFaultsCatchAWrongSpeed(t *testing.T) {
	r, err := (&Options{}).Run(context.Background(), ward(t, medium(t), sick{divides: true}))
	require.NoError(t, err)
	require.Contains(t, notSafe(r), "every pulse doubled for half a second")
	require.Contains(t, proceduretest.Words(r), "the set speed does not come back, with the engine at 50 % of the wanted speed")
	require.Contains(t, r.Found[0], "start no engine")
	r, err = (&Options{}).Run(context.Background(), ward(t, medium(t), sick{swings: true}))
	require.NoError(t, err)
	require.Equal(t, pickupGone, notSafe(r))
}

// A governor that only its supply brings back is brought back, and every fault is done;
// that is said of no other. Where nobody is there to switch it, what spoiled it is
// named, and the rest is left out.
func TestFaultsBringTheGovernorBack(t *testing.T) {
	b := ward(t, medium(t), sick{supply: true})
	r, err := (&Options{}).Run(context.Background(), b)
	require.NoError(t, err)
	require.Equal(t, measure.Pass, r.Result.Outcome)
	require.Equal(t, "All 19 faults that were tried are safe.", r.Found[0])
	require.Contains(t, proceduretest.Words(r), "After the fault before (the pickup lost) only switching the governor off and on brought it back.")
	require.NotContains(t, proceduretest.Words(r), "After the fault before (a few stray pulses)")

	b = ward(t, medium(t), sick{supply: true})
	b.StandIn = nil
	r, err = (&Options{}).Run(context.Background(), b)
	require.NoError(t, err)
	require.Equal(t, measure.NotRun, r.Result.Outcome)
	require.Equal(t, measure.Pass, proceduretest.Outcome(t, r, "time_to_safe_pickup_lost"))
	require.Contains(t, r.Result.Find("time_to_safe_idle_level_drift").Warnings[0], "after the fault before (the pickup lost) neither the stick nor its supply brought the governor back")
	require.NotContains(t, proceduretest.Words(r), "NOT SAFE")

	r, err = (&Options{}).Run(context.Background(), ward(t, medium(t), sick{later: 7.5}))
	require.NoError(t, err)
	require.Contains(t, proceduretest.Words(r), "After the fault before (a few stray pulses) the governor did not go on holding the set speed.")
	require.NotContains(t, proceduretest.Words(r), "(one pickup pulse missing)")
	require.Equal(t, measure.Pass, r.Result.Outcome)

	b = ward(t, medium(t), sick{})
	b.StandIn = nil
	r, err = (&Options{}).Run(context.Background(), b)
	require.NoError(t, err)
	require.NotContains(t, proceduretest.Words(r), "brought")
	require.NotContains(t, proceduretest.Words(r), "did not go on")
}

// A select pulse out of range is judged by what the blades bear; where nobody has
// written that down, by the wanted speed, as far as that tells.
func TestSelectPulsesAreJudgedByTheBlades(t *testing.T) {
	for name, c := range map[string]struct {
		greatest, speed string
		want            measure.Outcome
	}{
		"the blades bear it":        {"  greatest_head_speed: 2100 rpm\n", "hover", measure.Pass},
		"they do not":               {"  greatest_head_speed: 2050 rpm\n", "hover", measure.Fail},
		"nobody knows":              {"", "hover", measure.NotRun},
		"hardly above what is held": {"", "brisk", measure.Pass},
	} {
		m := proceduretest.Spoilt(t, "  greatest_head_speed: 2100 rpm\n", c.greatest)
		r, err := (&Options{AtSpeed: governed.AtSpeed{Speed: c.speed}}).Run(context.Background(), ward(t, m, sick{}))
		require.NoError(t, err)
		require.Equal(t, c.want, proceduretest.Outcome(t, r, "highest_speed_select_too_long"), name)
		require.Equal(t, c.want, r.Result.Outcome, name)
		require.Equal(t, c.want == measure.NotRun, strings.Contains(proceduretest.Words(r), "the blades may not bear"), name)
	}
}
