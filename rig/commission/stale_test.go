package commission

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/procedure"
	"govrig/sim/machine"
)

// done is a commission of the medium machine in which every step has passed, opened once
// more with a machine file as it is now.
func done(t *testing.T, now *machine.Machine) *State {
	dir := t.TempDir()
	s, err := Open(dir, medium(t), false, procedure.All)
	require.NoError(t, err)
	for i, p := range procedure.All {
		setting := ""
		if !p.PerSetting {
			setting = "hover"
		}
		require.NoError(t, s.Done(i, ran(p, medium(t), setting, result(1))))
	}
	require.Equal(t, Go, s.Verdict)
	s, err = Open(dir, now, false, procedure.All)
	require.NoError(t, err)
	return s
}

// stale are the steps that are to be done again, with the settings at which.
func (s *State) stale() (all []string) {
	for _, step := range s.Steps {
		if step.Stale.Any() {
			all = append(all, strings.Join(append([]string{step.Name}, step.Stale.Settings...), " "))
		}
	}
	return all
}

// A change of the machine file makes stale what has read it, and nothing else.
func TestAChangeMakesStaleWhatDependsOnIt(t *testing.T) {
	engine := []string{"hold", "spoolup", "loadstep", "sweep", "tune", "faults"}
	tests := map[string]struct {
		replaced []string
		want     []string
		why      string
	}{
		"nothing":              {nil, nil, ""},
		"a remark":             {[]string{"name: Medium", "# of the club\nname: Medium"}, nil, ""},
		"notes":                {[]string{"notes: Two", "notes: Three"}, nil, ""},
		"another way to write": {[]string{"gap: 1.4 mm", "gap: 0.0014 m"}, nil, ""},
		"the gap":              {[]string{"gap: 1.4 mm", "gap: 2 mm"}, []string{"pickup", "accept"}, "pickup.gap was 1.4 mm and is 2 mm now"},
		"a speed": {
			[]string{"head_speed: 1660 rpm", "head_speed: 1680 rpm"},
			[]string{"hold circuit", "loadstep circuit", "sweep circuit"}, "speeds.circuit.head_speed was 1660 rpm and is 1680 rpm now",
		},
		"the first speed, at which the others were done": {
			[]string{"head_speed: 1480 rpm", "head_speed: 1500 rpm"},
			[]string{"accept", "hold hover", "spoolup", "loadstep hover", "sweep hover", "tune", "faults"}, "speeds.hover.head_speed",
		},
		"a speed more": {
			[]string{"  circuit:\n", "  slow:\n    head_speed: 1400 rpm\n    limits:\n      max_dip: 10 %\n  circuit:\n"},
			[]string{"hold slow", "loadstep slow", "sweep slow"}, "speeds.slow.head_speed, 1400 rpm, is new",
		},
		"what the blades bear": {[]string{"greatest_head_speed: 2100 rpm", "greatest_head_speed: 2200 rpm"}, []string{"hold", "spoolup", "faults"}, "2100 rpm and is 2200 rpm"},
		"the carburettor":      {[]string{"servo_arm: 12 mm", "servo_arm: 12.5 mm"}, append([]string{"accept", "throttle"}, engine...), "servo_arm"},
		"the stand-in, which took no part": {
			[]string{"load_step:\n", "stand_in:\n  proportional_gain: 20 %/krpm\n\nload_step:\n"}, nil, "",
		},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			s := done(t, medium(t, tt.replaced...))
			require.Equal(t, tt.want, s.stale())
			if tt.want == nil {
				require.Equal(t, Go, s.Verdict)
				return
			}
			require.Equal(t, NotProven, s.Verdict)
			require.Contains(t, strings.Join(s.Reasons, "\n"), tt.why)
			var page strings.Builder
			require.NoError(t, s.WriteText(&page))
			require.Contains(t, strings.Join(strings.Fields(page.String()), " "), tt.why)
		})
	}
}

// A speed that is gone matters to what was done at each no more.
func TestASpeedThatIsGone(t *testing.T) {
	text := medium(t).Text
	at := strings.Index(text, "  brisk:\n")
	end := at + strings.Index(text[at:], "\nload_step")
	require.Empty(t, done(t, medium(t, text[at:end], "")).stale())
}

// A stale setting that is done again leaves the others as they are; what fails there
// fails the step.
func TestAStaleSettingIsDoneAgain(t *testing.T) {
	now := medium(t, "head_speed: 1660 rpm", "head_speed: 1680 rpm", "head_speed: 1800 rpm", "head_speed: 1790 rpm")
	s := done(t, now)
	hold := procedure.All.Place("hold")
	require.False(t, s.Passed(hold))
	require.NoError(t, s.Done(hold, ran(procedure.All[hold], now, "circuit", result(1))))
	require.Equal(t, []string{"brisk"}, s.Steps[hold].Stale.Settings)
	require.NoError(t, s.Done(hold, ran(procedure.All[hold], now, "brisk", result(1))))
	require.True(t, s.Passed(hold))
	require.Equal(t, []string{"runs/hold", "runs/holdcircuit"}, s.Steps[hold].Earlier)
	s.age(now)
	require.True(t, s.Passed(hold), "%v", s.Steps[hold].Stale)
	s.age(medium(t))
	require.Equal(t, []string{"circuit", "brisk"}, s.Steps[hold].Stale.Settings)

	require.NoError(t, s.Done(hold, ran(procedure.All[hold], now, "circuit", result(80))))
	require.Equal(t, NoGo, s.Verdict)
	require.False(t, s.Passed(hold))
}

// What has failed stays a no-go until it has been done again, whatever has changed.
func TestStaleFailureStaysNoGo(t *testing.T) {
	dir := t.TempDir()
	s, err := Open(dir, medium(t), false, procedure.All)
	require.NoError(t, err)
	faults := procedure.All.Place("faults")
	require.NoError(t, s.Done(faults, ran(procedure.All[faults], medium(t), "hover", result(80))))
	s, err = Open(dir, medium(t, "servo_arm: 12 mm", "servo_arm: 12.5 mm"), false, procedure.All)
	require.NoError(t, err)
	require.Equal(t, NoGo, s.Verdict)
	require.Contains(t, s.Reasons[0], "start no engine")
}

// Skipping a step that has passed and is stale loses nothing: when the change is
// taken back it stands again.
func TestSkippedStaleStepStands(t *testing.T) {
	s := done(t, medium(t, "gap: 1.4 mm", "gap: 2 mm"))
	pickup := procedure.All.Place("pickup")
	require.NoError(t, s.Skip(pickup, "no time"))
	require.False(t, s.Passed(pickup))
	s.age(medium(t))
	require.True(t, s.Passed(pickup))
}
