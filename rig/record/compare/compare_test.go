package compare

import (
	"encoding/json"
	"fmt"
	"math"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
	"govrig/rig/runlog"
)

// record makes a record of a run with one measure.
func record(t testing.TB, name, machine string, value float64, change func(*runlog.Info)) *runlog.Record {
	info := runlog.Info{
		Procedure: "loadstep", Options: json.RawMessage("{}"), Speed: "hover", Machine: "Medium", MachineText: machine,
		TickHz: 16_000_000, Lockstep: true, Tool: "v1",
	}
	if change != nil {
		change(&info)
	}
	w, err := runlog.Create(filepath.Join(t.TempDir(), name), info)
	require.NoError(t, err)
	sheet := measure.NewSheet("loadstep", false, measure.Declaration{Name: "dip", Unit: "%"}, measure.Declaration{Name: "gone", Unit: "s", Optional: true})
	sheet.Set("dip", value)
	result := sheet.Result()
	require.NoError(t, w.Close(runlog.End{Reason: runlog.Complete, Outcome: result.Outcome, Result: &result}))
	r, err := runlog.Open(w.Dir())
	require.NoError(t, err)
	return r
}

// The critical values of Student's t, two-sided at 95 %: NIST/SEMATECH
// e-Handbook of Statistical Methods, 1.3.6.7.2; and the factor 2.8 of ISO
// 5725-6:1994 for many runs (from memory).
func TestLimitIsThePublishedOne(t *testing.T) {
	for freedom, want := range map[int]float64{1: 12.706, 2: 4.303, 4: 2.776, 10: 2.228, 30: 2.042, 100: 1.984} {
		limit, ok := Scatter{SD: 1, Freedom: freedom}.Limit()
		require.True(t, ok)
		require.InDelta(t, want*math.Sqrt2, limit, 0.0008)
	}
	limit, _ := Scatter{SD: 1, Freedom: 100_000}.Limit()
	require.InDelta(t, 2.8, limit, 0.03)
	_, ok := Scatter{}.Limit()
	require.False(t, ok)
}

func TestChangeAgainstScatter(t *testing.T) {
	// two sets of repeats: with the old gap SD 0.1 over 3 runs, with the new
	// one SD 0.1 over 2; pooled 0.1 with 3 degrees of freedom: limit 3.182·√2·0.1
	var known []*runlog.Record
	for i, v := range []float64{3.0, 3.1, 2.9} {
		known = append(known, record(t, fmt.Sprint("old", i), "gap: 1.4 mm\nsame: 1", v, nil))
	}
	half := 0.1 / math.Sqrt2
	for i, v := range []float64{4.0 - half, 4.0 + half} {
		known = append(known, record(t, fmt.Sprint("new", i), "gap: 1.6 mm\nsame: 1", v, nil))
	}
	other := func(i *runlog.Info) { i.Speed = "brisk" }
	known = append(known, record(t, "brisk", "gap: 1.4 mm\nsame: 1", 9, other))

	table, err := New([]*runlog.Record{known[0], known[3], known[1]}, known)
	require.NoError(t, err)
	require.Equal(t, 5, table.Repeats)
	require.Equal(t, 2, table.Sets)
	dip := table.Rows[0]
	require.Equal(t, "dip", dip.Name)
	require.Equal(t, "%", dip.Unit)
	require.InDelta(t, 0.1, dip.Scatter.SD, 1e-12)
	require.Equal(t, 3, dip.Scatter.Freedom)
	require.Equal(t, 5, dip.Scatter.Runs)
	limit, _ := dip.Scatter.Limit()
	require.InDelta(t, 3.182*math.Sqrt2*0.1, limit, 1e-4)
	require.Equal(t, []Verdict{"", Changed, Within}, dip.Verdicts)
	require.InDelta(t, 1-half, dip.Change(1), 1e-12)
	require.Equal(t, []Verdict{"", Missing, Missing}, table.Rows[1].Verdicts)
	require.Equal(t, []string{"B: machine file: had gap: 1.4 mm", "B: machine file: has gap: 1.6 mm"}, table.Unlike)
}

// Runs that failed or were cut off say nothing of scatter; without two alike
// nothing is known of it.
func TestScatterUnknown(t *testing.T) {
	a, b := record(t, "a", "x", 1, nil), record(t, "b", "y", 2, nil)
	failed := record(t, "c", "x", 50, nil)
	failed.End.Outcome = measure.Error
	table, err := New([]*runlog.Record{a, b}, []*runlog.Record{a, b, failed})
	require.NoError(t, err)
	require.Equal(t, []Verdict{"", Unknown}, table.Rows[0].Verdicts)
	require.Equal(t, 2, table.Repeats)
}

func TestUnlikeRunsAreTold(t *testing.T) {
	a := record(t, "a", "x", 1, nil)
	b := record(t, "b", "x", 1, func(i *runlog.Info) {
		i.Procedure, i.Virtual, i.Tool = "hold", true, "v2"
		i.Identity.FirmwareMinor = 3
	})
	table, err := New([]*runlog.Record{a, b}, nil)
	require.NoError(t, err)
	require.Equal(t, []string{
		"B: procedure was loadstep in A and is hold",
		"B: hardware was board kind 0 with firmware 0.0 in A and is VIRTUAL, board kind 0 with firmware 0.3",
		"B: govrig was v1 in A and is v2",
	}, table.Unlike)
}

func TestRunWithoutResult(t *testing.T) {
	w, err := runlog.Create(filepath.Join(t.TempDir(), "cut"), runlog.Info{TickHz: 1})
	require.NoError(t, err)
	cut, err := runlog.Open(w.Dir())
	require.NoError(t, err)
	_, err = New([]*runlog.Record{record(t, "a", "x", 1, nil), cut}, nil)
	require.ErrorContains(t, err, "cut has no result")
}
