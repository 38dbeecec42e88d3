package report

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/procedure/loadstep"
	"govrig/rig/record/compare"
	"govrig/rig/record/replay"
	"govrig/rig/runlog"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
	"govrig/sim/standin/governor"
)

// recorded makes a record of a load step with a governor of the given gain.
func recorded(t *testing.T, dir string, factor float64) *runlog.Record {
	m, err := machine.Load("../../../testdata/machines/medium-15cc.yaml")
	require.NoError(t, err)
	p := m.GovernorParams(board.TickHz)
	p.Gain *= factor
	g, err := governor.New(p, 0)
	require.NoError(t, err)
	b := &execution.Bench{Machine: m, Board: board.New(board.Options{Governor: g}), Where: "virtual", StandIn: g}
	b.Record = func(info runlog.Info) (*runlog.Writer, error) {
		info.Tool, info.Started = "v1", "2026-03-01T19:30:00.000Z"
		return runlog.Create(dir, info)
	}
	_, err = (&loadstep.Options{Brief: true}).Run(context.Background(), b)
	require.NoError(t, err)
	r, err := runlog.Open(dir)
	require.NoError(t, err)
	return r
}

// fits checks the rules of text: width, no space at line ends.
func fits(t *testing.T, text string) {
	for i, line := range strings.Split(text, "\n") {
		width := 100
		if i == 0 {
			width = utf8.RuneCountInString(runlog.Provenance(true, ""))
		}
		require.LessOrEqual(t, utf8.RuneCountInString(line), width, line)
		require.Equal(t, strings.TrimRight(line, " "), line)
	}
}

func TestComparisonText(t *testing.T) {
	runs := t.TempDir()
	var records []*runlog.Record
	var traces []*execution.Course
	for i, factor := range []float64{1, 1.5, 0.5} {
		r := recorded(t, filepath.Join(runs, fmt.Sprintf("run-%d", i)), factor)
		run, _, err := replay.Load(r)
		require.NoError(t, err)
		records, traces = append(records, r), append(traces, &run.Course)
	}
	for _, n := range []int{2, 3} {
		table, err := compare.New(records[:n], records)
		require.NoError(t, err)
		table.Rows[0].Name = strings.Repeat("long_", 10) + "name"
		var b bytes.Buffer
		require.NoError(t, Compare(&b, table, traces[:n]))
		fits(t, b.String())
		require.True(t, strings.HasPrefix(b.String(), "VIRTUAL: "))
		require.Contains(t, b.String(), "|load on")
		require.Contains(t, b.String(), "3 runs alike")
		// The dips differ, so that in the chart the letters part.
		for i := range n {
			require.Contains(t, b.String(), strings.Repeat(compare.Letter(i), 2))
		}
	}
}

// The change between two runs whose gain differs is shown with the limit from
// runs made alike.
func TestChangeColumns(t *testing.T) {
	value := func(v float64) *float64 { return &v }
	table := &compare.Table{
		Runs: []*runlog.Record{{Dir: "a"}, {Dir: "b"}}, Repeats: 5, Sets: 2,
		Rows: []compare.Row{
			{Name: "dip", Unit: "%", Values: []*float64{value(-3), value(-2.5)}, Verdicts: []compare.Verdict{"", compare.Changed}, Scatter: compare.Scatter{SD: 0.05, Runs: 5, Freedom: 3}},
			{Name: "recovery", Unit: "s", Values: []*float64{value(1), value(1.01)}, Verdicts: []compare.Verdict{"", compare.Within}, Scatter: compare.Scatter{SD: 0.1, Runs: 5, Freedom: 3}},
			{Name: "lost", Unit: "1", Values: []*float64{value(1), nil}, Verdicts: []compare.Verdict{"", compare.Missing}},
			{Name: "new", Unit: "1", Values: []*float64{value(1), value(2)}, Verdicts: []compare.Verdict{"", compare.Unknown}},
		},
	}
	var b bytes.Buffer
	require.NoError(t, Compare(&b, table, []*execution.Course{{}, {}}))
	for _, line := range []string{
		"  dip                            %            -3       -2.5       +0.5        0.225  changed",
		"  recovery                       s             1       1.01      +0.01       0.4501  within scatter",
		"  lost                                         1          -                          not in both",
		"  new                                          1          2         +1            -  scatter unknown",
	} {
		require.Contains(t, b.String(), line+"\n")
	}
	require.True(t, strings.HasPrefix(b.String(), "On the bench: "))
}

func TestRecordedText(t *testing.T) {
	r := recorded(t, filepath.Join(t.TempDir(), "run"), 1)
	show := func() string {
		run, m, err := replay.Load(r)
		require.NoError(t, err)
		var b bytes.Buffer
		require.NoError(t, Recorded(&b, r, m, run))
		fits(t, b.String())
		require.True(t, strings.HasPrefix(b.String(), "VIRTUAL: "))
		require.Contains(t, b.String(), "|load off")
		return b.String()
	}
	whole := show()
	require.Contains(t, whole, "transient_deviation_load_on")
	require.Contains(t, whole, "Pass: ")
	require.Contains(t, whole, "  ended      complete after ")
	require.Contains(t, whole, `  options    {"Speed":"","Brief":true}`)

	require.NoError(t, os.Remove(filepath.Join(r.Dir, "end.json")))
	require.NoError(t, os.Remove(filepath.Join(r.Dir, "result.json")))
	r, _ = runlog.Open(r.Dir)
	cut := show()
	require.NotContains(t, cut, "Pass")
	require.NotContains(t, cut, "Error")
	require.Contains(t, cut, "cut off after ")
}

func TestRunsText(t *testing.T) {
	record := func(ended string, virtual bool) runlog.Summary {
		return runlog.Summary{
			Run: strings.Repeat("n", 33), Machine: strings.Repeat("ö", 60), Speed: strings.Repeat("s", 40),
			Virtual: virtual, Length: 123_456, Ended: ended, Short: ended == "pass",
		}
	}
	all := []runlog.Summary{
		record("fail", true), record("not-run", false), record("stopped", false), record("cut-off", false), record("error", false), record("pass", false),
	}
	var b bytes.Buffer
	require.NoError(t, Runs(&b, all))
	fits(t, b.String())
	lines := strings.Split(b.String(), "\n")
	require.Contains(t, lines[0], "VIRTUAL: 1 of 6 runs")
	for i, ended := range []string{"fail", "not-run", "stopped", "cut-off", "error", "pass*"} {
		require.True(t, strings.HasSuffix(lines[3+i], "  "+ended), lines[3+i])
		require.Equal(t, i == 0, strings.HasPrefix(lines[3+i], "v "))
	}
	require.Contains(t, b.String(), "\n* the record ends before the run did")
	b.Reset()
	require.NoError(t, Runs(&b, all[1:5]))
	require.NotContains(t, b.String(), "VIRTUAL")
	require.NotContains(t, b.String(), "*")
}

func TestReplayText(t *testing.T) {
	r := recorded(t, filepath.Join(t.TempDir(), "run"), 1)
	report := &replay.Report{Frames: 1234, Sent: 1237, Difference: &replay.Difference{
		Frame: 1234, Message: 1238, What: "Drive: PeriodTicks was 74868, now 74867; EdgeTicks was 1, now 2",
	}}
	var b bytes.Buffer
	require.NoError(t, Replay(&b, r, report, "v2"))
	fits(t, b.String())
	require.Contains(t, b.String(), "frame 1234")
	require.Contains(t, b.String(), "recorded by govrig v1, replayed by v2")
	require.NotContains(t, b.String(), "Nothing differs")
}
