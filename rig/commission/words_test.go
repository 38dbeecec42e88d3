package commission

import (
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/procedure"
	"govrig/rig/procedure/loadstep"
)

// What missed its limit is said in words that a page can print as they are.
func TestMissedIsWords(t *testing.T) {
	for want, d := range map[string]struct {
		measure.Declaration
		value float64
	}{
		"highest speed heard is 12372 rpm, must be ≥ 18000 rpm": {
			measure.Declaration{Name: "highest_speed_heard", Unit: "rpm", Limit: measure.AtLeast(18000)}, 12371.7065},
		"transient deviation, load on, at hover is −13.9 %, must be ≥ −10 %": {
			measure.Declaration{Name: "transient_deviation_load_on_hover", Key: measure.Key{What: "transient_deviation", Moment: measure.LoadOn, Setting: "hover"},
				Unit: "%", Limit: measure.AtLeast(-10)}, -13.9},
		"overload overshoot is 2, must be −0.1475 to 0.1475": {
			measure.Declaration{Name: "overload_overshoot", Unit: "1", Limit: measure.Between(-0.14745322245, 0.14745322245)}, 2},
		"phase margin, under heavy load is 20.1°, must be ≥ 30°": {
			measure.Declaration{Name: "phase_margin_heavy", Key: measure.Key{What: "phase_margin", Load: measure.Heavy}, Unit: "°", Limit: measure.AtLeast(30)}, 20.08},
		"time to safe, with the pickup lost is 0.000539 s, must be ≤ 0 s": {
			measure.Declaration{Name: "time_to_safe_pickup_lost", Key: measure.Key{What: "time_to_safe", Moment: "pickup_lost"}, About: "the pickup lost",
				Unit: "s", Limit: measure.AtMost(0)}, 0.000539},
	} {
		s := measure.NewSheet("x", false, d.Declaration)
		s.Set(d.Name, d.value)
		var step Step
		step.judged(s.Result())
		require.Equal(t, []string{want}, step.Missed)
	}
}

// Where a limit was missed that is no danger by itself, a no-go still opens with
// what not to do, and never with the name of a measure.
func TestNoGoWithoutADangerOfFaults(t *testing.T) {
	s, err := Open(t.TempDir(), medium(t), false, procedure.List{&loadstep.Procedure})
	require.NoError(t, err)
	sheet := measure.NewSheet("loadstep", false, measure.Declaration{Name: "dip", Unit: "%", Limit: measure.AtMost(10)})
	sheet.Set("dip", 12)
	require.NoError(t, s.Done(0, &execution.Run{Result: sheet.Result()}))
	require.Equal(t, []string{
		"Limits were missed in Load steps: start no engine until they are met.",
		"Load steps: dip is 12 %, must be ≤ 10 %",
	}, s.Reasons)
}
