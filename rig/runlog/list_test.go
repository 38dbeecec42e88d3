package runlog

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
	"govrig/rig/record/altered/seal"
)

// fill makes n records in a folder, an hour apart, the last name first.
func fill(t testing.TB, n int) (runs string) {
	runs = t.TempDir()
	first := filepath.Join(t.TempDir(), "run")
	const marker = "2026-03-01T08:00:00Z"
	w, err := Create(first, Info{
		Started: marker, Tool: "v1", Procedure: "loadstep", Speed: "hover", Machine: "Medium machine", MachineText: "x",
		TickHz: tickHz, Lockstep: true, StandIn: map[string]any{"Gain": 0.002, "IntegralTime": 0.8, "FrameRate": 71},
	})
	require.NoError(t, err)
	w.Sample(&Sample{Ticks: tickHz / 2})
	w.Sample(&Sample{Ticks: tickHz})
	require.NoError(t, w.Close(End{Reason: Complete, Outcome: measure.Pass}))
	info, err := os.ReadFile(filepath.Join(first, infoFile))
	require.NoError(t, err)
	start, err := time.Parse(time.RFC3339, marker)
	require.NoError(t, err)
	for i := range n {
		dir := filepath.Join(runs, fmt.Sprintf("run-%05d", n-i))
		require.NoError(t, os.CopyFS(dir, os.DirFS(first)))
		started := start.Add(time.Duration(i) * time.Hour).Format(time.RFC3339)
		later := bytes.Replace(info, []byte(marker), []byte(started), 1)
		require.NoError(t, os.WriteFile(filepath.Join(dir, infoFile), later, 0o644))
		require.NoError(t, seal.Again(dir))
	}
	return runs
}

func every(*Summary) bool { return true }

func TestList(t *testing.T) {
	runs := fill(t, 5)
	require.NoError(t, os.Mkdir(filepath.Join(runs, "nothing"), 0o755))
	require.NoError(t, os.Mkdir(filepath.Join(runs, "no record"), 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(runs, "no record", "notes.txt"), nil, 0o644))
	require.NoError(t, os.WriteFile(filepath.Join(runs, "notes.txt"), nil, 0o644))
	require.NoError(t, os.Mkdir(filepath.Join(runs, "damaged"), 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(runs, "damaged", infoFile), []byte("{"), 0o644))
	records, unreadable, err := List(runs, every)
	require.NoError(t, err)
	require.Len(t, records, 5)
	require.Equal(t, "run-00005", records[0].Name(), "oldest first, whatever its name")
	require.Len(t, unreadable, 2)
	require.ErrorContains(t, unreadable[0], "damaged")
	require.ErrorContains(t, unreadable[1], "nothing holds no run: one that was killed before its record began leaves such a folder")
	_, _, err = List(filepath.Join(runs, "nowhere"), every)
	require.ErrorIs(t, err, os.ErrNotExist)
}

// The index tells the same as the records, sees what has changed, and is made anew
// when it is gone, damaged or cannot be written.
func TestIndex(t *testing.T) {
	runs := fill(t, 5)
	first, err := Summaries(runs)
	require.NoError(t, err)
	index := filepath.Join(runs, indexFile)
	require.FileExists(t, index)
	again, err := Summaries(runs)
	require.NoError(t, err)
	require.Equal(t, first, again)

	require.NoError(t, os.RemoveAll(filepath.Join(runs, "run-00001")))
	end := filepath.Join(runs, "run-00002", endFile)
	text, err := os.ReadFile(end)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(end, append(text, '\n'), 0o644))
	changed, err := Summaries(runs)
	require.NoError(t, err)
	require.Len(t, changed, 4)
	require.Equal(t, "run-00002", changed[0].Run, "the time of its start is not believed any more")
	require.Equal(t, Damaged, changed[0].Ended)
	require.Contains(t, changed[0].Problem, "end.json is not as it was")

	for _, other := range []string{"", "{", `{"schema":"govrig/index/1","runs":null}`, `{"schema":"govrig/index/9","runs":{}}`} {
		require.NoError(t, os.WriteFile(index, []byte(other), 0o644))
		anew, err := Summaries(runs)
		require.NoError(t, err)
		require.Equal(t, changed, anew)
	}
	require.NoError(t, os.Remove(index))
	require.NoError(t, os.Mkdir(index, 0o755))
	anew, err := Summaries(runs)
	require.NoError(t, err)
	require.Equal(t, changed, anew)
}

func TestFind(t *testing.T) {
	runs := fill(t, 3)
	for name, want := range map[string]string{
		Last: "run-00001", "run-00002": "run-00002", filepath.Join(runs, "run-00003"): "run-00003",
	} {
		r, err := Find(runs, name)
		require.NoError(t, err)
		require.Equal(t, want, r.Name())
	}
	_, err := Find(runs, "run-9")
	require.ErrorContains(t, err, `no run "run-9"`)
	_, err = Find(t.TempDir(), Last)
	require.ErrorContains(t, err, "no run in")
}

func TestLength(t *testing.T) {
	dir := filepath.Join(fill(t, 1), "run-00001")
	length := func() float64 {
		r := open(t, dir)
		s, err := r.Length()
		require.NoError(t, err)
		return s
	}
	require.InDelta(t, 1, length(), 0)
	require.NoError(t, os.Remove(filepath.Join(dir, endFile)))
	require.InDelta(t, 1, length(), 0, "cut off")
	require.NoError(t, os.Truncate(filepath.Join(dir, samplesFile), 10))
	require.InDelta(t, 0, length(), 0)
}

// BenchmarkSummaries10000 tells of 10 000 records, with the index and without.
func BenchmarkSummaries10000(b *testing.B) {
	runs := fill(b, 10_000)
	for _, known := range []bool{false, true} {
		b.Run(fmt.Sprintf("index=%v", known), func(b *testing.B) {
			for b.Loop() {
				if !known {
					_ = os.Remove(filepath.Join(runs, indexFile))
				}
				all, err := Summaries(runs)
				require.NoError(b, err)
				require.Len(b, all, 10_000)
			}
		})
	}
}
