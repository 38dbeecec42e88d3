package procedure

import (
	"context"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
	"govrig/sim/standin/governor"
)

// machineFiles are the worked machines.
var machineFiles = []string{"trainer-15cc", "camera-23cc", "sparrow-6cc"}

// machineOf loads a worked machine, with a quirk of its stand-in governor.
func machineOf(t testing.TB, file, quirk string) *machine.Machine {
	m, err := machine.Load("../../testdata/machines/" + file + ".yaml")
	require.NoError(t, err)
	m.StandIn.Quirk = machine.Quirk(quirk)
	return m
}

// attended is a virtual bench on which the procedure can restart the stand-in.
func attended(t testing.TB, m *machine.Machine) *Bench {
	g, err := governor.New(m.GovernorParams(board.TickHz), 0)
	require.NoError(t, err)
	return &Bench{Machine: m, Board: board.New(board.Options{Governor: g}), Where: "virtual", StandIn: g}
}

func outcome(t testing.TB, r *Run, name string) measure.Outcome {
	m := r.Result.Find(name)
	require.NotNil(t, m, name)
	return m.Outcome
}

// words are all that a run says to the person.
func words(r *Run) string { return strings.Join(append(r.Found, r.Next...), "\n") }

// The stand-in's own set speed at the select width that was found is what is
// measured through the wire, within 0.05 %; and it is the wanted one, within
// half a step of its speed setting.
func TestHoldFindsEverySettingOfTheStandIn(t *testing.T) {
	for _, file := range machineFiles {
		m := machineOf(t, file, "none")
		r, err := Hold(context.Background(), attended(t, m), HoldOptions{Speed: AllSpeeds, Time: 8})
		require.NoError(t, err)
		require.Equal(t, measure.Pass, r.Result.Outcome, "%s: %+v", file, r.Result)
		require.Len(t, r.Found, len(m.Speeds), "no setting is blamed: %v", r.Found)
		for _, s := range m.Speeds {
			gov := m.Governor
			width := value(t, r, "select_width_"+s.Name) * 1e-6
			set := float64(gov.SpeedLow) + (width-float64(gov.SelectLow))/float64(gov.SelectHigh-gov.SelectLow)*float64(gov.SpeedHigh-gov.SpeedLow)
			set = math.Round(set/float64(gov.SpeedStep)) * float64(gov.SpeedStep)
			require.InEpsilon(t, set*rpm, value(t, r, "governed_speed_"+s.Name), 0.0005, s.Name)
			wanted := float64(s.HeadSpeed) * m.Ratio()
			require.InDelta(t, wanted, set, float64(gov.SpeedStep)/2+0.0005*wanted, s.Name)
		}
	}
}

// A select line that is not as the paper says: the width is found nevertheless.
func TestHoldFindsAnotherSelectLine(t *testing.T) {
	m := machineOf(t, "trainer-15cc", "none")
	b := bench(t, m, func(p *governor.Params) { p.SelectLow, p.SelectHigh, p.SpeedStep = 1.0e-3, 1.95e-3, 0 })
	r, err := Hold(context.Background(), b, HoldOptions{Speed: "circuit", Time: 3})
	require.NoError(t, err)
	require.Equal(t, measure.Pass, r.Result.Outcome, "%+v", r.Result)
	wanted := 1660 * m.Ratio()
	width := 1000 + 950*(wanted-10_000)/8_000
	require.InDelta(t, width, value(t, r, "select_width"), 0.0015*wanted/8_000*950)
}

func TestHoldCatchesQuirks(t *testing.T) {
	for _, c := range []struct{ file, speed, quirk, fails, says string }{
		{"trainer-15cc", "hover", "proportional_only", "speed_droop", "does not bring it back"},
		{"sparrow-6cc", "hover", "proportional_only", "speed_droop", "does not bring it back"},
		{"trainer-15cc", "hover", "coarse_setting", "speed_setting_error", "the nearest are 1420 and 156"},
		{"sparrow-6cc", "hover", "coarse_setting", "speed_setting_error", "coarse steps"},
		{"trainer-15cc", "circuit", "counts_twice", "head_speed", "counts 2 pulses a turn, and is given 1"},
		{"sparrow-6cc", "hover", "counts_twice", "speed_setting_error", "counts 4 pulses a turn, and is given 2"},
	} {
		r, err := Hold(context.Background(), attended(t, machineOf(t, c.file, c.quirk)), HoldOptions{Speed: c.speed, Time: 3})
		require.NoError(t, err)
		require.Equal(t, measure.Fail, r.Result.Outcome, "%+v", c)
		require.Equal(t, measure.Fail, outcome(t, r, c.fails), "%+v", c)
		require.Contains(t, words(r), c.says, "%+v", c)
	}
}

// Hunting is found where it is so wild that the engine never becomes steady,
// and where it comes under the heavy load only.
func TestHoldFindsHunting(t *testing.T) {
	for _, c := range []struct {
		file, says      string
		gain, frequency float64
	}{
		{"trainer-15cc", "hunts under light load", 12, 4},
		{"camera-23cc", "hunts under heavy load", 10, 3},
	} {
		b := bench(t, machineOf(t, c.file, "none"), func(p *governor.Params) { p.Gain *= c.gain })
		r, err := Hold(context.Background(), b, HoldOptions{Speed: "hover", Time: 10})
		require.NoError(t, err)
		require.Equal(t, measure.Fail, r.Result.Outcome, c.file)
		require.Equal(t, measure.Fail, outcome(t, r, "hunting_swing"))
		require.InDelta(t, c.frequency, value(t, r, "hunting_frequency"), 0.5)
		require.Contains(t, words(r), c.says)
	}
}

// A governor that lets go at one setting leaves that and the later ones
// without measures, each with its reason; the earlier keep theirs.
func TestHoldStopsWhereTheGovernorLetsGo(t *testing.T) {
	m := machineOf(t, "trainer-15cc", "none")
	b := bench(t, m, func(p *governor.Params) { p.DeafAbove = 14_000 / rpm })
	r, err := Hold(context.Background(), b, HoldOptions{Speed: AllSpeeds, Time: 2})
	require.NoError(t, err)
	require.Equal(t, measure.Pass, outcome(t, r, "speed_setting_error_hover"))
	require.Equal(t, measure.NotRun, outcome(t, r, "speed_droop_circuit"))
	require.Contains(t, r.Result.Find("speed_droop_brisk").Warnings[0], `did not hold "circuit"`)
	require.NotEqual(t, measure.Pass, r.Result.Outcome)
	require.Contains(t, words(r), "idle")
}
