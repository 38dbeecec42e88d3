package hold

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/procedure/proceduretest"
	"govrig/sim/standin/governor"
)

// The stand-in's own set speed at the select width that was found is what is
// measured through the wire, within 0.05 %; and it is the wanted one, within
// half a step of its speed setting.
func TestHoldFindsEverySettingOfTheStandIn(t *testing.T) {
	for _, file := range proceduretest.Machines {
		m := proceduretest.MachineOf(t, file, "none")
		r, err := (&Options{Speed: execution.AllSpeeds, Time: 8}).Run(context.Background(), proceduretest.Attended(t, m))
		require.NoError(t, err)
		require.Equal(t, measure.Pass, r.Result.Outcome, "%s: %+v", file, r.Result)
		require.Len(t, r.Found, len(m.Speeds), "no setting is blamed: %v", r.Found)
		for _, s := range m.Speeds {
			gov := m.Governor
			width := proceduretest.Value(t, r, "select_width_"+s.Name) * 1e-6
			set := float64(gov.SpeedLow) + (width-float64(gov.SelectLow))/float64(gov.SelectHigh-gov.SelectLow)*float64(gov.SpeedHigh-gov.SpeedLow)
			set = math.Round(set/float64(gov.SpeedStep)) * float64(gov.SpeedStep)
			require.InEpsilon(t, set*execution.RPM, proceduretest.Value(t, r, "governed_speed_"+s.Name), 0.0005, s.Name)
			wanted := float64(s.HeadSpeed) * m.Ratio()
			require.InDelta(t, wanted, set, float64(gov.SpeedStep)/2+0.0005*wanted, s.Name)
		}
	}
}

// A select line that is not as the paper says: the width is found nevertheless.
func TestHoldFindsAnotherSelectLine(t *testing.T) {
	m := proceduretest.MachineOf(t, "medium-15cc", "none")
	b := proceduretest.Bench(t, m, func(p *governor.Params) { p.SelectLow, p.SelectHigh, p.SpeedStep = 1.0e-3, 1.95e-3, 0 })
	r, err := (&Options{Speed: "circuit", Time: 3}).Run(context.Background(), b)
	require.NoError(t, err)
	require.Equal(t, measure.Pass, r.Result.Outcome, "%+v", r.Result)
	wanted := 1660 * m.Ratio()
	width := 1000 + 950*(wanted-10_000)/8_000
	require.InDelta(t, width, proceduretest.Value(t, r, "select_width"), 0.0015*wanted/8_000*950)
}

func TestHoldCatchesQuirks(t *testing.T) {
	for _, c := range []struct{ file, speed, quirk, fails, says string }{
		{"medium-15cc", "hover", "proportional_only", "speed_droop", "does not bring it back"},
		{"small-6cc", "hover", "proportional_only", "speed_droop", "does not bring it back"},
		{"medium-15cc", "hover", "coarse_setting", "speed_setting_error", "the nearest are 1420 and 156"},
		{"small-6cc", "hover", "coarse_setting", "speed_setting_error", "coarse steps"},
		{"medium-15cc", "circuit", "counts_twice", "head_speed", "counts 2 pulses a turn, and is given 1"},
		{"small-6cc", "hover", "counts_twice", "speed_setting_error", "counts 4 pulses a turn, and is given 2"},
	} {
		r, err := (&Options{Speed: c.speed, Time: 3}).Run(context.Background(), proceduretest.Attended(t, proceduretest.MachineOf(t, c.file, c.quirk)))
		require.NoError(t, err)
		require.Equal(t, measure.Fail, r.Result.Outcome, "%+v", c)
		require.Equal(t, measure.Fail, proceduretest.Outcome(t, r, c.fails), "%+v", c)
		require.Contains(t, proceduretest.Words(r), c.says, "%+v", c)
	}
}

// Hunting is found where it is so wild that the engine never becomes steady,
// and where it comes under the heavy load only.
func TestHoldFindsHunting(t *testing.T) {
	for _, c := range []struct {
		file, says      string
		gain, frequency float64
	}{
		{"medium-15cc", "hunts under light load", 12, 4},
		{"large-23cc", "hunts under heavy load", 10, 3},
	} {
		b := proceduretest.Bench(t, proceduretest.MachineOf(t, c.file, "none"), func(p *governor.Params) { p.Gain *= c.gain })
		r, err := (&Options{Speed: "hover", Time: 10}).Run(context.Background(), b)
		require.NoError(t, err)
		require.Equal(t, measure.Fail, r.Result.Outcome, "%s: %v", c.file, r.Result)
		require.Equal(t, measure.Fail, proceduretest.Outcome(t, r, "hunting_swing"))
		require.InDelta(t, c.frequency, proceduretest.Value(t, r, "hunting_frequency"), 0.5)
		require.Contains(t, proceduretest.Words(r), c.says)
	}
}

// A governor that lets go at one setting leaves that and the later ones
// without measures, each with its reason; the earlier keep theirs.
func TestHoldStopsWhereTheGovernorLetsGo(t *testing.T) {
	m := proceduretest.MachineOf(t, "medium-15cc", "none")
	b := proceduretest.Bench(t, m, func(p *governor.Params) { p.DeafAbove = 14_000 / execution.RPM })
	r, err := (&Options{Speed: execution.AllSpeeds, Time: 2}).Run(context.Background(), b)
	require.NoError(t, err)
	require.Equal(t, measure.Pass, proceduretest.Outcome(t, r, "speed_setting_error_hover"))
	require.Equal(t, measure.NotRun, proceduretest.Outcome(t, r, "speed_droop_circuit"))
	require.Contains(t, r.Result.Find("speed_droop_brisk").Warnings[0], `did not hold "circuit"`)
	require.NotEqual(t, measure.Pass, r.Result.Outcome)
	require.Contains(t, proceduretest.Words(r), "idle")
}
