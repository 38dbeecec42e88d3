package report

import (
	"bytes"
	"context"
	"encoding/json"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/procedure/loadstep"
	"govrig/rig/runlog"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
	"govrig/sim/standin/governor"
)

func loadStep(t *testing.T) (*machine.Machine, *execution.Run) {
	m, err := machine.Load("../../../testdata/machines/medium-15cc.yaml")
	require.NoError(t, err)
	g, err := governor.New(m.GovernorParams(board.TickHz), 0)
	require.NoError(t, err)
	b := &execution.Bench{Machine: m, Board: board.New(board.Options{Governor: g}), Where: "virtual"}
	r, err := (&loadstep.Options{}).Run(context.Background(), b)
	require.NoError(t, err)
	return m, r
}

func TestTextKeepsItsRules(t *testing.T) {
	m, r := loadStep(t)
	var b bytes.Buffer
	require.NoError(t, Text(&b, m, r))
	lines := strings.Split(b.String(), "\n")
	require.True(t, strings.HasPrefix(lines[0], "VIRTUAL: "))
	for _, line := range lines {
		require.LessOrEqual(t, utf8.RuneCountInString(line), 100+6, line)
		require.Equal(t, strings.TrimRight(line, " "), line)
	}
	for _, measured := range r.Result.Measures {
		require.Contains(t, b.String(), "  "+measured.Name+" ")
		require.Contains(t, b.String(), "  "+measured.Name+": ")
	}
	for _, phase := range []string{"|steady", "|load on", "|load off"} {
		require.Contains(t, b.String(), phase)
	}
}

// The document's form is a promise to other programs.
func TestJSONForm(t *testing.T) {
	_, r := loadStep(t)
	var b bytes.Buffer
	require.NoError(t, JSON(&b, r.Result))
	var doc map[string]any
	require.NoError(t, json.Unmarshal(b.Bytes(), &doc))
	require.Equal(t, "govrig/result/1", doc["schema"])
	require.Equal(t, "loadstep", doc["procedure"])
	require.Equal(t, true, doc["virtual"])
	require.Equal(t, "pass", doc["outcome"])
	first := doc["measures"].([]any)[3].(map[string]any)
	require.Equal(t, "steady_state_speed_band", first["name"])
	require.Equal(t, "%", first["unit"])
	require.Equal(t, map[string]any{"max": 1.5}, first["limit"])
	require.Equal(t, "pass", first["outcome"])
	require.Equal(t, []any{}, first["warnings"])
}

func TestVirtualNeverSoundsLikeTheRealThing(t *testing.T) {
	require.Contains(t, runlog.Provenance(true, ""), "VIRTUAL")
	require.NotContains(t, runlog.Provenance(false, ""), "VIRTUAL")
	m, r := loadStep(t)
	r.Result.Virtual = false
	var b bytes.Buffer
	require.NoError(t, Text(&b, m, r))
	require.NotContains(t, b.String(), "VIRTUAL")
	require.NotContains(t, b.String(), "virtual run")
}

func TestVerdicts(t *testing.T) {
	m, r := loadStep(t)
	for outcome, word := range map[measure.Outcome]string{
		measure.Pass: "Pass:", measure.Fail: "Fail:", measure.NotRun: "Not run:", measure.Error: "Error:",
	} {
		r.Result.Outcome = outcome
		var b bytes.Buffer
		require.NoError(t, Text(&b, m, r))
		require.Contains(t, b.String(), "\n"+word)
	}
}

// A dip of one sample is still on the chart.
func TestThinKeepsTheDip(t *testing.T) {
	y := make([]float64, 10_000)
	for i := range y {
		y[i] = 1500
	}
	y[7_777] = 1300
	require.Contains(t, thin(y, chartWidth), 1300.0)
}
