package commission

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
)

func steps() []Step {
	return []Step{{Name: "selftest"}, {Name: "tune", Optional: true}, {Name: "faults"}}
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
	s, err := Open(t.TempDir(), "medium", "text", false, steps())
	require.NoError(t, err)
	require.NoError(t, s.Done(0, result(1), nil, nil, ""))
	require.Equal(t, NotProven, s.Verdict)
	require.Equal(t, []string{"Faults (faults) has not been done"}, s.Reasons)

	require.NoError(t, s.Done(2, result(80), nil, nil, ""))
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

	require.NoError(t, s.Done(2, result(2), nil, nil, ""))
	require.Equal(t, Go, s.Verdict, "the optional step was not needed")
}

// A virtual machine never goes, whatever it passed, and what failed is still
// told.
func TestNeverGoOnAVirtualBoard(t *testing.T) {
	s, err := Open(t.TempDir(), "medium", "text", true, steps())
	require.NoError(t, err)
	for i := range s.Steps {
		require.NoError(t, s.Done(i, result(1), nil, nil, ""))
	}
	require.Equal(t, NotProven, s.Verdict)
	require.Contains(t, s.Reasons[0], "virtual")
	require.NoError(t, s.Done(2, result(80), nil, nil, ""))
	require.Equal(t, NoGo, s.Verdict)
	require.Len(t, s.Reasons, 3)
	require.Contains(t, s.Reasons[0], "start no engine")
	require.Contains(t, s.Reasons[1], "virtual")
}

// An emulated board behind a port is no hardware either: what passed there
// says so, and is no go until it has passed on the bench.
func TestNeverGoOnAnEmulatedBoard(t *testing.T) {
	s, err := Open(t.TempDir(), "medium", "text", false, steps())
	require.NoError(t, err)
	emulated := result(1)
	emulated.Virtual = true
	require.NoError(t, s.Done(0, result(1), nil, nil, ""))
	require.NoError(t, s.Done(2, emulated, nil, nil, ""))
	require.Equal(t, NotProven, s.Verdict)
	require.Equal(t, []string{"done on an emulated board, which is no hardware, and to be done again on the bench: Faults"}, s.Reasons)
	var page strings.Builder
	require.NoError(t, s.WriteText(&page))
	require.True(t, strings.HasPrefix(page.String(), "VIRTUAL"), page.String())

	require.NoError(t, s.Done(2, result(1), nil, nil, ""))
	require.Equal(t, Go, s.Verdict)
}

func TestResume(t *testing.T) {
	dir := t.TempDir()
	s, err := Open(dir, "medium", "text", false, steps())
	require.NoError(t, err)
	require.NoError(t, s.Done(0, result(1), []string{"all well"}, nil, "runs/1"))
	require.NoError(t, s.Done(2, result(80), nil, nil, "runs/2"))

	again, err := Open(dir, "medium", "text", false, steps())
	require.NoError(t, err)
	require.True(t, again.Passed(0))
	require.False(t, again.Passed(2), "what failed is done again")
	require.Equal(t, []string{"all well"}, again.Steps[0].Found)

	for _, other := range []struct {
		text    string
		virtual bool
	}{{"another text", false}, {"text", true}} {
		fresh, err := Open(dir, "medium", other.text, other.virtual, steps())
		require.NoError(t, err)
		require.False(t, fresh.Passed(0))
	}
}

func TestTornStateIsNotLost(t *testing.T) {
	dir := t.TempDir()
	s, err := Open(dir, "medium", "text", false, steps())
	require.NoError(t, err)
	require.NoError(t, s.Skip(0, "x"))
	require.NoError(t, os.WriteFile(s.path, []byte(`{"schema":`), 0o644))
	_, err = Open(dir, "medium", "text", false, steps())
	require.ErrorContains(t, err, "move it away")
}
