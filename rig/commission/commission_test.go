package commission

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/procedure"
	"govrig/rig/procedure/faults"
	"govrig/rig/procedure/selftest"
	"govrig/rig/procedure/tune"
	"govrig/sim/machine"
)

var threeSteps = procedure.List{&selftest.Procedure, &tune.Procedure, &faults.Procedure}

// medium is the worked machine with texts of its file replaced, in pairs.
func medium(t *testing.T, replaced ...string) *machine.Machine {
	text, err := os.ReadFile("../../testdata/machines/medium-15cc.yaml")
	require.NoError(t, err)
	for i := 0; i < len(replaced); i += 2 {
		require.Contains(t, string(text), replaced[i])
	}
	m, err := machine.Parse("medium.yaml", []byte(strings.NewReplacer(replaced...).Replace(string(text))))
	require.NoError(t, err)
	return m
}

// ran is a run of a procedure on a machine.
func ran(p *execution.Procedure, m *machine.Machine, setting string, result measure.Result) *execution.Run {
	r := &execution.Run{Result: result, Dir: "runs/" + p.Name + setting, Read: execution.ReadOf(m, p.Reads, setting, false)}
	r.Setting, _ = m.Speed(setting)
	return r
}

func result(value float64) measure.Result {
	const name = "throttle_at_end_pickup_lost"
	s := measure.NewSheet("x", false, measure.Declaration{
		Name: name, Key: measure.Key{What: "throttle_at_end", Moment: "pickup_lost"}, About: "the pickup lost", Unit: "%", Limit: measure.AtMost(10),
	})
	s.Set(name, value)
	return s.Result()
}

func TestVerdicts(t *testing.T) {
	s, err := Open(t.TempDir(), medium(t), false, threeSteps)
	require.NoError(t, err)
	require.NoError(t, s.Done(0, ran(threeSteps[0], medium(t), "", result(1))))
	require.Equal(t, NotProven, s.Verdict)
	require.Equal(t, []string{"Faults (faults) has not been done"}, s.Reasons)

	require.NoError(t, s.Done(2, ran(threeSteps[2], medium(t), "", result(80))))
	require.Equal(t, NoGo, s.Verdict)
	require.Equal(t, []string{
		"With the pickup lost the throttle stays open: start no engine with this governor.",
		"Faults: throttle at end, with the pickup lost is 80 %, must be ≤ 10 %",
	}, s.Reasons)
	var page strings.Builder
	require.NoError(t, s.WriteText(&page))
	require.Regexp(t, `(?s)NO-GO\n  - With the pickup lost the throttle stays open: start no engine with\s+this governor\.`, page.String())

	require.NoError(t, s.Skip(2, "no time"))
	require.Equal(t, NotProven, s.Verdict)
	require.Contains(t, s.Reasons[0], "no time")

	require.NoError(t, s.Done(2, ran(threeSteps[2], medium(t), "", result(2))))
	require.Equal(t, Go, s.Verdict, "the optional step was not needed")
}

// A virtual machine never goes, whatever it passed, and what failed is still
// told.
func TestNeverGoOnAVirtualBoard(t *testing.T) {
	s, err := Open(t.TempDir(), medium(t), true, threeSteps)
	require.NoError(t, err)
	for i := range s.Steps {
		require.NoError(t, s.Done(i, ran(threeSteps[i], medium(t), "", result(1))))
	}
	require.Equal(t, NotProven, s.Verdict)
	require.Contains(t, s.Reasons[0], "virtual")
	require.NoError(t, s.Done(2, ran(threeSteps[2], medium(t), "", result(80))))
	require.Equal(t, NoGo, s.Verdict)
	require.Len(t, s.Reasons, 3)
	require.Contains(t, s.Reasons[0], "start no engine")
	require.Contains(t, s.Reasons[1], "virtual")
}

// An emulated board behind a port is no hardware either: what passed there
// says so, and is no go until it has passed on the bench.
func TestNeverGoOnAnEmulatedBoard(t *testing.T) {
	s, err := Open(t.TempDir(), medium(t), false, threeSteps)
	require.NoError(t, err)
	emulated := result(1)
	emulated.Virtual = true
	require.NoError(t, s.Done(0, ran(threeSteps[0], medium(t), "", result(1))))
	require.NoError(t, s.Done(2, ran(threeSteps[2], medium(t), "", emulated)))
	require.Equal(t, NotProven, s.Verdict)
	require.Equal(t, []string{"done on an emulated board, which is no hardware, and to be done again on the bench: Faults"}, s.Reasons)
	var page strings.Builder
	require.NoError(t, s.WriteText(&page))
	require.True(t, strings.HasPrefix(page.String(), "VIRTUAL"), page.String())

	require.NoError(t, s.Done(2, ran(threeSteps[2], medium(t), "", result(1))))
	require.Equal(t, Go, s.Verdict)
}

func TestResume(t *testing.T) {
	dir := t.TempDir()
	s, err := Open(dir, medium(t), false, threeSteps)
	require.NoError(t, err)
	well := ran(threeSteps[0], medium(t), "", result(1))
	well.Found = []string{"all well"}
	require.NoError(t, s.Done(0, well))
	require.NoError(t, s.Done(2, ran(threeSteps[2], medium(t), "", result(80))))

	again, err := Open(dir, medium(t), false, threeSteps)
	require.NoError(t, err)
	require.True(t, again.Passed(0))
	require.False(t, again.Passed(2), "what failed is done again")
	require.Equal(t, []string{"all well"}, again.Steps[0].Found)

	fresh, err := Open(dir, medium(t), true, threeSteps)
	require.NoError(t, err)
	require.False(t, fresh.Passed(0), "a virtual commission is another one")
	fresh, err = Open(dir, medium(t, "name: Medium machine, 15 cm³", "name: Another"), false, threeSteps)
	require.NoError(t, err)
	require.False(t, fresh.Passed(0), "and so is that of another machine")
}

func TestTornStateIsNotLost(t *testing.T) {
	dir := t.TempDir()
	s, err := Open(dir, medium(t), false, threeSteps)
	require.NoError(t, err)
	require.NoError(t, s.Skip(0, "x"))
	require.NoError(t, os.WriteFile(s.path, []byte(`{"schema":`), 0o644))
	_, err = Open(dir, medium(t), false, threeSteps)
	require.ErrorContains(t, err, "move it away")
}
