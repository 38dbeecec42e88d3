package export

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/runlog"
)

// table is what another program reads from a CSV file.
type table struct {
	Names []string            `json:"names"`
	Rows  int                 `json:"rows"`
	First map[string]string   `json:"first"`
	Last  map[string]string   `json:"last"`
	Sums  map[string]float64  `json:"sums"`
	Words map[string][]string `json:"words"`
}

// python reads a CSV file with Python's csv module, whose reader keeps to RFC
// 4180.
const python = `
import csv, json, sys
delimiter, decimal = sys.argv[2], sys.argv[3]
with open(sys.argv[1], newline='', encoding='utf-8') as f:
    rows = list(csv.DictReader(f, delimiter=delimiter, strict=True))
with open(sys.argv[1], 'rb') as f:
    data = f.read()
assert data.count(b'\n') == data.count(b'\r\n') == len(rows) + 1, 'lines end with CR LF'
text = {'phase', 'source'}
names = list(rows[0])
json.dump({
    'names': names, 'rows': len(rows), 'first': rows[0], 'last': rows[-1],
    'sums': {n: sum(float(r[n].replace(decimal, '.')) for r in rows) for n in names if n not in text},
    'words': {n: list(dict.fromkeys(r[n] for r in rows)) for n in text},
}, sys.stdout)
`

func readBack(t testing.TB, text []byte, delimiter, decimal string) (read table) {
	path := filepath.Join(t.TempDir(), "run.csv")
	require.NoError(t, os.WriteFile(path, text, 0o644))
	out, err := exec.Command("python3", "-c", python, path, delimiter, decimal).Output()
	require.NoError(t, err, "apt-get install python3")
	require.NoError(t, json.Unmarshal(out, &read))
	return read
}

func TestCSVReadBackByPython(t *testing.T) {
	rec, run, _, _ := held(t, "medium-15cc.yaml")
	for _, c := range []struct {
		semicolon          bool
		delimiter, decimal string
	}{{false, ",", "."}, {true, ";", ","}} {
		var text bytes.Buffer
		require.NoError(t, CSV(&text, rec, c.semicolon))
		read := readBack(t, text.Bytes(), c.delimiter, c.decimal)
		require.Equal(t, len(run.Trace.Time), read.Rows)
		require.Equal(t, []string{
			"time_s", "ticks", "speed_rpm", "played_rpm", "head_rpm", "throttle_us", "opening_percent", "torque_nm",
			"load_nm", "collective_deg", "stick_us", "select_us", "phase", "source",
		}, read.Names)
		sum := func(column []float64) (all float64) {
			for _, v := range column {
				all += v
			}
			return all
		}
		require.InDelta(t, sum(run.Trace.Time), read.Sums["time_s"], 1e-3)
		require.InDelta(t, sum(run.Trace.Time)*16e6, read.Sums["ticks"], 1)
		require.InDelta(t, sum(run.Trace.Speed), read.Sums["speed_rpm"], 1)
		require.InDelta(t, sum(run.Trace.Head), read.Sums["head_rpm"], 1)
		require.InDelta(t, sum(run.Trace.Throttle), read.Sums["throttle_us"], 1)
		var phases []string
		for _, key := range run.Trace.Phases {
			if !slices.Contains(phases, key.String()) {
				phases = append(phases, key.String())
			}
		}
		require.Equal(t, phases, read.Words["phase"])
		require.Equal(t, []string{"VIRTUAL"}, read.Words["source"], "on every line")
		require.Equal(t, strings.Replace("3200.00", ".", c.decimal, 1), read.First["speed_rpm"])
	}
}

func TestJSONHoldsTheRecord(t *testing.T) {
	rec, run, played, throttle := held(t, "medium-15cc.yaml")
	var text bytes.Buffer
	require.NoError(t, JSON(&text, rec))
	var all struct {
		Schema  string
		Virtual bool
		Reason  string
		Info    runlog.Info
		Result  struct{ Outcome string }
		Events  []runlog.Event
		Columns []string
		Samples [][]float64
		Pulses  [][]any
	}
	require.NoError(t, json.Unmarshal(text.Bytes(), &all))
	require.Equal(t, "govrig/export/1", all.Schema)
	require.True(t, all.Virtual)
	require.Equal(t, runlog.Complete, all.Reason)
	require.Equal(t, "hold", all.Info.Procedure)
	require.Equal(t, "pass", all.Result.Outcome)
	require.NotEmpty(t, all.Events)
	require.Len(t, all.Samples, len(run.Trace.Time))
	last := all.Samples[len(all.Samples)-1]
	require.Len(t, last, len(all.Columns))
	require.InDelta(t, run.Trace.Time[len(run.Trace.Time)-1], last[0], 1e-6)
	require.EqualValues(t, len(run.Trace.Phases)-1, last[len(last)-1])
	pickup := 0
	for _, p := range all.Pulses {
		if p[0] == "pickup" {
			pickup++
		}
	}
	require.InDelta(t, len(played)/2, pickup, 1, "the last one may not have been told")
	require.Equal(t, len(throttle)/2, len(all.Pulses)-pickup)
}

// A run that was cut off before its first sample still exports.
func TestExportOfNearlyNothing(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "run")
	w, err := runlog.Create(dir, runlog.Info{TickHz: 16_000_000, Lockstep: true})
	require.NoError(t, err)
	require.NoError(t, w.Close(runlog.End{Reason: runlog.Stopped}))
	require.NoError(t, os.Remove(filepath.Join(dir, "end.json")))
	rec, err := runlog.Open(dir)
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, JSON(&b, rec))
	require.True(t, json.Valid(b.Bytes()), b.String())
	b.Reset()
	require.NoError(t, CSV(&b, rec, false))
	require.Equal(t, 1, strings.Count(b.String(), "\r\n"))
	b.Reset()
	require.NoError(t, VCD(&b, rec))
	require.Contains(t, b.String(), "$dumpvars")
}

// full takes no more.
type full struct{ room int }

func (f *full) Write(p []byte) (int, error) {
	if f.room -= len(p); f.room < 0 {
		return 0, os.ErrClosed
	}
	return len(p), nil
}

func TestFullFileIsNamed(t *testing.T) {
	rec, _, _, _ := held(t, "medium-15cc.yaml")
	for name, write := range map[string]func() error{
		"csv":  func() error { return CSV(&full{100_000}, rec, false) },
		"json": func() error { return JSON(&full{100_000}, rec) },
		"vcd":  func() error { return VCD(&full{100_000}, rec) },
	} {
		require.ErrorIs(t, write(), os.ErrClosed, name)
	}
}
