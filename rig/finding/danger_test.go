package finding

import (
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
)

// faulted is the result of faults with the measures of two of them: one that only a
// closed throttle makes safe, and one that may be ridden through.
func faulted(t *testing.T, values map[string]float64) measure.Result {
	var declared []measure.Declaration
	for _, moment := range []string{"doubled_pulses", "pickup_lost"} {
		for what, limit := range map[string]*measure.Limit{
			TimeToSafe: measure.AtMost(1), HighestSpeed: measure.AtMost(120), ThrottleAtEnd: measure.AtMost(2),
		} {
			if moment == "doubled_pulses" && what == ThrottleAtEnd {
				limit = nil
			}
			about := map[string]string{"pickup_lost": "the pickup lost"}[moment]
			declared = append(declared, measure.Declaration{
				Name: what + "_" + moment, Key: measure.Key{What: what, Moment: moment}, About: about, Unit: "1", Limit: limit,
			})
		}
	}
	s := measure.NewSheet("faults", false, declared...)
	for _, d := range declared {
		value, other := values[d.Name]
		if !other {
			value = 0.5
		}
		s.Set(d.Name, value)
	}
	return s.Result()
}

// Each danger is said where its limit was missed, the worst first, and none where
// the limit was just met.
func TestDanger(t *testing.T) {
	for name, c := range map[string]struct {
		values map[string]float64
		want   string
	}{
		"nothing":   {nil, ""},
		"just met":  {map[string]float64{"throttle_at_end_pickup_lost": 2, "highest_speed_pickup_lost": 120, "time_to_safe_pickup_lost": 1}, ""},
		"no limit":  {map[string]float64{"throttle_at_end_doubled_pulses": 60}, ""},
		"open":      {map[string]float64{"throttle_at_end_pickup_lost": 2.1}, "With the pickup lost the throttle stays open: start no engine with this governor."},
		"late":      {map[string]float64{"time_to_safe_pickup_lost": 1.83}, "With the pickup lost the throttle is not closed for good within 1.8 s: start no engine with this governor."},
		"too fast":  {map[string]float64{"highest_speed_pickup_lost": 121}, "With the pickup lost the engine reaches 121 % of the wanted speed: start no engine with this governor."},
		"neither":   {map[string]float64{"time_to_safe_doubled_pulses": 7}, "With doubled pulses the governor neither holds the speed nor closes the throttle for 7.0 s: start no engine with this governor."},
		"wide open": {map[string]float64{"time_to_safe_doubled_pulses": 7, "throttle_at_end_doubled_pulses": 96}, "With doubled pulses the throttle stays wide open: start no engine with this governor."},
		"half open": {map[string]float64{"time_to_safe_doubled_pulses": 7, "throttle_at_end_doubled_pulses": 94}, "With doubled pulses the governor neither holds the speed nor closes the throttle for 7.0 s: start no engine with this governor."},
		"the worst": {map[string]float64{"time_to_safe_doubled_pulses": 7, "highest_speed_doubled_pulses": 180, "throttle_at_end_pickup_lost": 60}, "With the pickup lost the throttle stays open: start no engine with this governor."},
	} {
		require.Equal(t, c.want, Danger(faulted(t, c.values)), name)
	}
}

// The same measures of no fault are no danger.
func TestDangerIsOfFaultsOnly(t *testing.T) {
	s := measure.NewSheet("spoolup", false, measure.Declaration{Name: HighestSpeed, Unit: "%", Limit: measure.AtMost(110)})
	s.Set(HighestSpeed, 150)
	require.Empty(t, Danger(s.Result()))
}
