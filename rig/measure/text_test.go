package measure

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/sim/words"
)

func TestTextSaysValueMeaningConventionAndNote(t *testing.T) {
	s := NewSheet("measure", false,
		Declaration{Name: "steady_state_speed_band", Unit: "%", Limit: AtMost(1.5), Meaning: "How far it wanders.",
			Convention: "ISO 8528-5: " + strings.Repeat("full width of the envelope ", 8)},
		Declaration{Name: "rise_time", Unit: "s", Optional: true})
	s.Take("steady_state_speed_band", Read(1.23456789, "few samples").With("window 3 s"))
	s.NotRun("rise_time", "no event")
	s.Warn("times are irregular")
	var b strings.Builder
	require.NoError(t, s.Result().WriteText(&b))
	text := b.String()
	for _, want := range []string{"steady_state_speed_band          1.235 %  must be ≤ 1.5: pass", "    How far it wanders.",
		"window 3 s", "    note: few samples", "rise_time                        not run", "    note: no event",
		"Note: times are irregular", "Pass: every limit was met (1)."} {
		require.Contains(t, text, want)
	}
	for _, line := range strings.Split(text, "\n") {
		require.LessOrEqual(t, words.Width(line), words.Columns)
	}
}

func TestMeasuresNotRunForOneReasonStandTogether(t *testing.T) {
	s := NewSheet("p", false, Declaration{Name: "a", Unit: "s"}, Declaration{Name: "b"}, Declaration{Name: "c", Limit: AtMost(1)},
		Declaration{Name: "d"}, Declaration{Name: "e"})
	for _, name := range []string{"a", "b", "c", "d"} {
		s.NotRun(name, "no event")
	}
	s.NotRun("e", "no throttle")
	var b strings.Builder
	require.NoError(t, s.Result().WriteText(&b))
	require.Contains(t, b.String(), "not run: a, b\n    note: no event\n\nc ")
	require.Contains(t, b.String(), "must be ≤ 1: not run")
	require.Equal(t, 3, strings.Count(b.String(), "no event"))
}

func TestSentences(t *testing.T) {
	limited := Declaration{Name: "a", Limit: AtMost(1)}
	fail, open, broken := NewSheet("p", false, limited), NewSheet("p", false, limited), NewSheet("p", false, limited)
	fail.Set("a", 2)
	broken.Break("x")
	free := NewSheet("p", false, Declaration{Name: "b"})
	free.Set("b", 2)
	for want, s := range map[string]*Sheet{"Fail: limits missed: 1 of 1": fail, "Not run: ": open, "Error: ": broken, "no limits": free} {
		require.Contains(t, s.Result().sentence(), want)
	}
}
