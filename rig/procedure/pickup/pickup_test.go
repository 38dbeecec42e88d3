package pickup

import (
	"context"
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/measure/mounting"
	"govrig/rig/procedure/proceduretest"
	"govrig/sim/machine"
	"govrig/sim/pickup"
	"govrig/sim/pickup/turned"
	"govrig/sim/standin/board"
)

// starter is a shaft at rest for a moment and then turned at about 1500 rpm.
var starterSpeeds = []turned.Stretch{{Time: 2, Speed: 0}, {Time: 0.7, Speed: 1500 / execution.RPM}}

// probed measures what a sensor gives, on a virtual board.
func probed(t testing.TB, m *machine.Machine, s *turned.Sensor, o *Options) (*Pickup, *execution.Run) {
	var c Pickup
	return &c, c.probed(t, m, s, o)
}

func (c *Pickup) probed(t testing.TB, m *machine.Machine, s *turned.Sensor, o *Options) *execution.Run {
	b := &execution.Bench{Machine: m, Board: board.New(board.Options{Turned: s}), Where: "virtual"}
	r, err := c.Measure(context.Background(), b, o)
	require.NoError(t, err)
	return r
}

// mounted is the machine's pickup, mounted otherwise.
func mounted(t testing.TB, m *machine.Machine, p pickup.Params, speeds ...turned.Stretch) *turned.Sensor {
	s, err := turned.New(p, m.Pickup.Active == machine.Low, speeds...)
	require.NoError(t, err)
	return s
}

var atStarter = &Options{Time: 10, Turning: 1500 / execution.RPM}

// The machines of testdata are mounted right, and are found to be.
func TestPickupThatIsRight(t *testing.T) {
	for _, name := range []string{"medium-15cc", "small-6cc", "large-23cc"} {
		m := proceduretest.Load(t, name)
		c, r := probed(t, m, mounted(t, m, m.PickupParams(), starterSpeeds...), atStarter)
		require.Equal(t, PickupRight, c.Verdict.Kind, "%s: %q", name, r.Found)
		require.Equal(t, measure.Pass, r.Result.Outcome, "%s: %+v", name, r.Result)
		is, err := pickup.Predict(m.PickupParams())
		require.NoError(t, err)
		require.Equal(t, float64(is.PulsesPerRev), proceduretest.Value(t, r, "pulses_per_turn"))
		require.InEpsilon(t, 100*is.Width, proceduretest.Value(t, r, "pulse_width"), 1e-3)
		require.InEpsilon(t, 1500, proceduretest.Value(t, r, "turning_speed"), 1e-3)
		require.Zero(t, proceduretest.Value(t, r, "missing_pulses")+proceduretest.Value(t, r, "extra_pulses"))
		require.Less(t, proceduretest.Value(t, r, "slowest_speed"), 800.0, "while the shaft sped up")
		if r.Result.Find("field_margin").Limit != nil {
			require.InEpsilon(t, 1e3*m.PickupParams().Gap, proceduretest.Value(t, r, "estimated_gap"), 0.15)
			require.InEpsilon(t, is.Margin, proceduretest.Value(t, r, "field_margin"), 0.1)
		}
	}
}

// band is the least and the greatest width that a pickup gives at its gap, a
// quarter wider or narrower.
func band(t *testing.T, p pickup.Params) (low, high float64) {
	low = math.Inf(1)
	gap := p.Gap
	for share := 1 / 1.25; share <= 1.25; share *= 1.04 {
		p.Gap = gap * share
		is, err := pickup.Predict(p)
		require.NoError(t, err)
		low, high = math.Min(low, is.Width), math.Max(high, is.Width)
	}
	return low, high
}

// truth is what the verdict has to be on a pickup that is mounted so, worked
// out from what the field model makes of it and not from what was measured;
// low and high are the band of the file's own.
func truth(t *testing.T, p pickup.Params, governor int, low, high float64) PickupKind {
	is, err := pickup.Predict(p)
	require.NoError(t, err)
	switch {
	case is.Stuck:
		return PickupStuck
	case is.PulsesPerRev == 0:
		return PickupNothing
	case is.PulsesPerRev != governor:
		return PickupWrongCount
	case is.Width < 0.97*low || is.Width > 1.03*high:
		return PickupUnlike
	}
	return PickupRight // by its pulses it cannot be told from the file's
}

// Every orientation and pole of the magnet, at gaps from very near to out of
// reach, and the sensor turned: the verdict is right, and the truth is among
// the causes it names.
func TestPickupVerdictOverTheGrid(t *testing.T) {
	for name, gaps := range map[string][]float64{
		"medium-15cc": {0.3e-3, 0.8e-3, 1.4e-3, 2.2e-3, 3.4e-3, 4.4e-3, 5.2e-3, 7e-3},
		"small-6cc":   {1.2e-3, 2.5e-3, 4e-3},
		"large-23cc":  {2e-3, 9e-3},
	} {
		m := proceduretest.Load(t, name)
		var seen Pickup
		low, high := band(t, m.PickupParams())
		for _, g := range gaps {
			for _, p := range orientations(m.PickupParams()) {
				p.Gap = g
				label := fmt.Sprintf("%s: magnet %s %s, sensor %s, %.1f mm", name, p.Axis, p.Pole, p.Sensor.Normal, 1e3*g)
				r := seen.probed(t, m, mounted(t, m, p, starterSpeeds...), atStarter)
				require.Equal(t, truth(t, p, m.Governor.PulsesPerTurn, low, high), seen.Verdict.Kind, "%s: %q", label, r.Found)
				if p == m.PickupParams() {
					require.Equal(t, PickupRight, seen.Verdict.Kind)
				}
				require.True(t, slices.ContainsFunc(seen.Verdict.Causes, func(cause mounting.Cause) bool {
					same := cause.Params
					same.Gap = g
					return same == p && cause.Low < 1.02*g && cause.High > 0.98*g
				}), "%s: %+v", label, seen.Verdict)
				require.Equal(t, seen.Verdict.Kind == PickupRight, r.Result.Outcome == measure.Pass, label)
			}
		}
	}
}

// orientations are all six of the magnet, and the sensor turned to either side.
func orientations(file pickup.Params) (all []pickup.Params) {
	for _, axis := range []pickup.Direction{pickup.Gapwise, pickup.Travelwise, pickup.Crosswise} {
		for _, pole := range []pickup.Pole{pickup.South, pickup.North} {
			p := file
			p.Axis, p.Pole = axis, pole
			all = append(all, p)
		}
	}
	for _, normal := range []pickup.Direction{pickup.Travelwise, pickup.Crosswise} {
		p := file
		p.Sensor.Normal = normal
		all = append(all, p)
	}
	return all
}

// A gap that works, but with a field that a part of the least sensitive kind
// would hardly feel.
func TestPickupNearItsLimit(t *testing.T) {
	m := proceduretest.Spoilt(t, "gap: 1.4 mm", "gap: 4.9 mm")
	c, r := probed(t, m, mounted(t, m, m.PickupParams(), starterSpeeds...), atStarter)
	require.Equal(t, PickupNearLimit, c.Verdict.Kind, "%q", r.Found)
	require.Equal(t, measure.Fail, r.Result.Find("field_margin").Outcome)
	require.InDelta(t, 4.9, proceduretest.Value(t, r, "estimated_gap"), 0.2)
	require.Contains(t, fmt.Sprint(r.Next), "Bring the sensor")
}

// spoiled is the medium machine's right pickup whose pulses, of some turns, are spoiled.
func spoiled(t *testing.T, m *machine.Machine, turns int, spoil func([]pickup.Pulse) []pickup.Pulse) *turned.Sensor {
	s := mounted(t, m, m.PickupParams(), starterSpeeds...)
	var all []pickup.Pulse
	for k := range turns {
		for _, p := range s.Pulses {
			angle := 1 + float64(k)*s.Period
			all = append(all, pickup.Pulse{Operate: p.Operate + angle, Release: p.Release + angle})
		}
	}
	s.Pulses, s.Period = spoil(all), float64(turns)*s.Period
	return s
}

func TestPickupWithMissingAndExtraPulses(t *testing.T) {
	m := proceduretest.Medium(t)
	c, r := probed(t, m, spoiled(t, m, 9, func(p []pickup.Pulse) []pickup.Pulse { return slices.Delete(p, 4, 5) }), atStarter)
	require.Equal(t, PickupIrregular, c.Verdict.Kind)
	require.Equal(t, measure.Fail, r.Result.Outcome)
	require.InDelta(t, 100.0/9, proceduretest.Value(t, r, "missing_pulses"), 2)
	require.Zero(t, proceduretest.Value(t, r, "extra_pulses"))

	c, r = probed(t, m, spoiled(t, m, 9, func(p []pickup.Pulse) []pickup.Pulse {
		return append(p, pickup.Pulse{Operate: p[3].Release + 0.5, Release: p[3].Release + 0.6})
	}), atStarter)
	require.Equal(t, PickupIrregular, c.Verdict.Kind)
	require.InDelta(t, 100.0/9, proceduretest.Value(t, r, "extra_pulses"), 2)
	require.Zero(t, proceduretest.Value(t, r, "missing_pulses"))
	require.Contains(t, fmt.Sprint(r.Found), "stray ones from a bad contact")
}

// Two magnets of which one is weaker, or not opposite the other.
func TestPickupWithUnevenMagnets(t *testing.T) {
	m := proceduretest.Load(t, "small-6cc")
	even := mounted(t, m, m.PickupParams())
	for name, spoil := range map[string]func(*pickup.Pulse){
		"width_difference":   func(p *pickup.Pulse) { p.Release -= 0.3 * (p.Release - p.Operate) },
		"spacing_difference": func(p *pickup.Pulse) { p.Operate, p.Release = p.Operate+0.3, p.Release+0.3 },
	} {
		first, second := even.Pulses[0], even.Pulses[0]
		second.Operate, second.Release = second.Operate+math.Pi, second.Release+math.Pi
		spoil(&second)
		s := &turned.Sensor{Pulses: []pickup.Pulse{first, second}, Period: 2 * math.Pi, Low: even.Low, Speeds: starterSpeeds}
		c, r := probed(t, m, s, atStarter)
		require.Equal(t, PickupUneven, c.Verdict.Kind, name)
		require.Equal(t, measure.Fail, r.Result.Find(name).Outcome, name)
		require.Equal(t, 2.0, proceduretest.Value(t, r, "pulses_per_turn"))
	}
}

// A line whose active level is not the file's is found out and measured the
// right way up; a sensor that never lets go is told from one that never
// operates.
func TestPickupLevels(t *testing.T) {
	m := proceduretest.Medium(t)
	s := mounted(t, m, m.PickupParams(), starterSpeeds...)
	s.Low = !s.Low
	c, r := probed(t, m, s, atStarter)
	require.Equal(t, PickupRight, c.Verdict.Kind, "%q", r.Found)
	require.Equal(t, measure.Fail, r.Result.Outcome)
	require.Zero(t, proceduretest.Value(t, r, "active_level_as_told"))
	require.Contains(t, r.Found[0], "The line rests low and goes high while a magnet is felt, the opposite")
	require.Contains(t, r.Next[0], "pickup.active to high")

	for stuck, kind := range map[bool]PickupKind{true: PickupStuck, false: PickupNothing} {
		c, r = probed(t, m, &turned.Sensor{Stuck: stuck, Low: true}, atStarter)
		require.Equal(t, kind, c.Verdict.Kind)
		require.Zero(t, proceduretest.Value(t, r, "pulses_per_turn"))
		require.Equal(t, measure.NotRun, r.Result.Find("pulse_width").Outcome)
		require.Contains(t, fmt.Sprint(r.Found), "no supply")
	}
}

// A governor set to another number of pulses than the magnets give.
func TestPickupAgainstTheGovernorsSetting(t *testing.T) {
	m := proceduretest.Medium(t)
	m.Governor.PulsesPerTurn = 2
	c, r := probed(t, m, mounted(t, m, m.PickupParams(), starterSpeeds...), atStarter)
	require.Equal(t, PickupWrongCount, c.Verdict.Kind)
	require.Contains(t, fmt.Sprint(r.Found), "do not go with them")
	require.Equal(t, measure.Fail, r.Result.Find("pulses_per_turn").Outcome)
}

// byHand is a shaft turned for a while at a turn a second, left alone, and then
// turned ten times.
var byHand = []turned.Stretch{
	{Time: 1, Speed: 0}, {Time: 0.5, Speed: 2 * math.Pi}, {Time: 8, Speed: 2 * math.Pi}, {Time: 0, Speed: 0},
	{Time: 2, Speed: 0}, {Time: 0, Speed: 2 * math.Pi}, {Time: 10, Speed: 2 * math.Pi}, {Time: 0, Speed: 0},
}

// Turned by hand, the turns that the person counts tell the pulses a turn.
func TestPickupByHand(t *testing.T) {
	m := proceduretest.Load(t, "small-6cc")
	b := &execution.Bench{Machine: m, Where: "virtual", Board: board.New(board.Options{
		Turned: mounted(t, m, m.PickupParams(), byHand...),
	})}
	var asked []string
	b.Ask = func(_ context.Context, q execution.Question) (string, error) {
		asked = append(asked, q.Key)
		return map[string]string{"turning": "hand", "turns": "10"}[q.Key], nil
	}
	var said []string
	b.Say = func(sentence string) { said = append(said, sentence) }
	var c Pickup
	r, err := c.Measure(context.Background(), b, &Options{Time: 10.5, Watch: true})
	require.NoError(t, err)
	require.Equal(t, []string{"turning", "turns"}, asked)
	require.Equal(t, PickupRight, c.Verdict.Kind, "%q", r.Found)
	require.Equal(t, 2.0, proceduretest.Value(t, r, "pulses_per_turn"))
	require.InDelta(t, 60, proceduretest.Value(t, r, "slowest_speed"), 1)
	require.Contains(t, fmt.Sprint(said), "60 rpm, 2 a turn")
	require.Contains(t, fmt.Sprint(said), "10 whole turns")
}

// What nobody has told is not measured.
func TestPickupWithoutASpeed(t *testing.T) {
	m := proceduretest.Medium(t)
	c, r := probed(t, m, mounted(t, m, m.PickupParams(), byHand...), &Options{Time: 10.5, Watch: true})
	require.Equal(t, PickupRight, c.Verdict.Kind)
	require.Equal(t, 1.0, proceduretest.Value(t, r, "pulses_per_turn"), "ten turns are the default answer")
	c, r = probed(t, m, &turned.Sensor{Low: true}, &Options{Time: 2})
	require.Equal(t, PickupNothing, c.Verdict.Kind)
	require.Zero(t, proceduretest.Value(t, r, "pulses_per_turn"))
}

// A speed that cannot be true is questioned, and so is a shaft that stopped.
func TestPickupAtAnotherSpeedThanGiven(t *testing.T) {
	m := proceduretest.Medium(t)
	_, r := probed(t, m, mounted(t, m, m.PickupParams(), starterSpeeds...), &Options{Time: 8, Turning: 1000 / execution.RPM})
	require.Equal(t, 1.5, proceduretest.Value(t, r, "pulses_per_turn"))
	require.Contains(t, fmt.Sprint(r.Found), "1.50 pulses a turn, which is no whole number")

	stopped := []turned.Stretch{{Time: 0, Speed: 1500 / execution.RPM}, {Time: 3, Speed: 1500 / execution.RPM}, {Time: 0, Speed: 0}}
	c, r := probed(t, m, mounted(t, m, m.PickupParams(), stopped...), &Options{Time: 9, Watch: true, Turning: 1500 / execution.RPM})
	require.Equal(t, PickupRight, c.Verdict.Kind)
	require.Contains(t, r.Found[0], "The last pulse came 6 s before the end")
}

// A coil gives no pulses while it is turned slowly: the slowest speed is where
// it begins.
func TestPickupSlowest(t *testing.T) {
	m := proceduretest.Medium(t)
	s := mounted(t, m, m.PickupParams(), turned.Stretch{Time: 4, Speed: 1500 / execution.RPM})
	s.Slowest = 700 / execution.RPM
	_, r := probed(t, m, s, &Options{Time: 12, Turning: 1500 / execution.RPM})
	require.InDelta(t, 720, proceduretest.Value(t, r, "slowest_speed"), 30)
}
