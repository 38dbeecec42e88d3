package main

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
	"govrig/rig/record/altered/formone"
)

var update = flag.Bool("update", false, "write the golden results anew")

const logs = "../../testdata/measure/"

// command runs govrig with arguments.
func command(stdin string, args ...string) (code int, out, err string) {
	var o, e bytes.Buffer
	code = run(context.Background(), args, streams{in: strings.NewReader(stdin), out: &o, err: &e})
	return code, o.String(), e.String()
}

func TestMeasureGolden(t *testing.T) {
	for name, args := range map[string][]string{
		"setpoint-step":   {"--event", "2", "--declared", "16000"},
		"load-step-droop": {"--declared", "16000", "--band", "1"},
		"hunting":         {"--declared", "16000"},
	} {
		t.Run(name, func(t *testing.T) {
			code, out, stderr := command("", append([]string{"measure", logs + name + ".csv", "--json"}, args...)...)
			require.Equal(t, exitPass, code, stderr)
			require.Empty(t, stderr)
			golden := logs + name + ".json"
			if *update {
				require.NoError(t, os.WriteFile(golden, []byte(out), 0o644))
			}
			want, err := os.ReadFile(golden)
			require.NoError(t, err)
			require.JSONEq(t, string(want), out)
		})
	}
}

// What the closed forms say, sampled at 100 Hz.
func TestMeasureGoldenIsRight(t *testing.T) {
	for name, want := range map[string]map[string]float64{
		"setpoint-step":   {"overshoot": 16.303353, "rise_time": 1.637573 / 2, "settling_time_2pct": 8.076349 / 2, "settling_time_5pct": 5.289093 / 2},
		"load-step-droop": {"speed_droop": 1.5, "governed_speed": 15760},
		"hunting":         {"hunting_frequency": 1.9, "hunting_amplitude": 60, "hunting_throttle": 25},
	} {
		text, err := os.ReadFile(logs + name + ".json")
		require.NoError(t, err)
		var r measure.Result
		require.NoError(t, json.Unmarshal(text, &r))
		for key, v := range want {
			require.InEpsilon(t, v, *r.Find(key).Value, 0.01, "%s %s", name, key)
		}
	}
}

func TestMeasureTextNamesMeaningAndConvention(t *testing.T) {
	code, out, _ := command("", "measure", logs+"load-step-droop.csv", "--declared", "16000")
	require.Equal(t, exitPass, code)
	require.NotContains(t, out, "VIRTUAL")
	for _, want := range []string{"transient_deviation ", "a dip is negative", "ISO 8528-5", "full width", "decimal commas", "no rise"} {
		require.Contains(t, strings.ToLower(out), strings.ToLower(want))
	}
}

func TestMeasureExitCodes(t *testing.T) {
	tests := map[string]struct {
		stdin string
		args  []string
		code  int
		out   string // on standard output
		err   string // on standard error
	}{
		"a limit met": {"", []string{logs + "hunting.csv", "--limit", "hunting_amplitude=..100"}, exitPass, "must be ≤ 100: pass", ""},
		"a limit missed": {"", []string{logs + "hunting.csv", "--limit", "hunting_amplitude=..20"}, exitFail,
			"Fail: limits missed: 1 of 1", ""},
		"a limited measure not taken": {"", []string{logs + "hunting.csv", "--limit", "recovery_time=..5"}, exitFail, "must be ≤ 5: not run", ""},
		"no such file":                {"", []string{"nowhere.csv"}, exitUsage, "", "nowhere.csv"},
		"no file":                     {"", nil, exitUsage, "", "arg"},
		"not a table":                 {"hello\n", []string{"-"}, exitUsage, "", "it holds no samples"},
		"a fault in the table":        {"time_s,speed_rpm\n0,1\n1,x\n", []string{"-"}, exitUsage, "", "line 3"},
		"event outside":               {"", []string{logs + "hunting.csv", "--event", "99"}, exitUsage, "", "outside the log"},
		"unknown column":              {"", []string{logs + "hunting.csv", "--column", "rpm=x"}, exitUsage, "", "speed_rpm=NAME"},
		"unknown limit":               {"", []string{logs + "hunting.csv", "--limit", "x=..1"}, exitUsage, "", "no measure is called"},
		"limit without ends":          {"", []string{logs + "hunting.csv", "--limit", "overshoot=5"}, exitUsage, "", "LEAST..MOST"},
		"limit that is no number":     {"", []string{logs + "hunting.csv", "--limit", "overshoot=..much"}, exitUsage, "", "no number"},
		"limit open at both ends":     {"", []string{logs + "hunting.csv", "--limit", "overshoot=.."}, exitUsage, "", "lower or an upper"},
		"declared too small":          {"", []string{logs + "hunting.csv", "--declared", "1e-300"}, exitUsage, "", "a declared speed of 1e-300 rpm makes no sense"},
		"declared too large":          {"", []string{logs + "hunting.csv", "--declared", "2e6"}, exitUsage, "", "makes no sense"},
		"band too small":              {"", []string{logs + "hunting.csv", "--band", "1e-9"}, exitUsage, "", "a band of 1e-09 % makes no sense"},
		"event beyond time":           {"", []string{logs + "hunting.csv", "--event", "1e300"}, exitUsage, "", "makes no sense"},
		"limit beyond all":            {"", []string{logs + "hunting.csv", "--limit", "overshoot=..1e300"}, exitUsage, "", "1e+300 makes no sense"},
		"speed beyond all":            {"time_s,speed_rpm\n0,1\n1,1e300\n", []string{"-"}, exitUsage, "", "line 3: speed: 1e+300 makes no sense"},
		"declared zero":               {"", []string{logs + "hunting.csv", "--declared", "0"}, exitUsage, "", "--declared"},
		"nothing to measure":          {"time_s,speed_rpm\n0,16000\n", []string{"-"}, exitUsage, "not run", "nothing could be measured"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			code, out, stderr := command(tt.stdin, append([]string{"measure"}, tt.args...)...)
			require.Equal(t, tt.code, code, stderr)
			require.Contains(t, out, tt.out)
			require.Contains(t, stderr, tt.err)
			if tt.out == "" {
				require.Empty(t, out, "results only")
			}
			if tt.err == "" {
				require.Empty(t, stderr)
			}
		})
	}
}

// The samples of a run without hardware stay virtual when measured again.
func TestMeasureKeepsVirtual(t *testing.T) {
	dir := t.TempDir()
	m := filepath.Join(dir, "machines")
	require.NoError(t, copyMachines(m))
	code, _, stderr := command("", "hold", filepath.Join(m, "medium-15cc.yaml"), "--virtual", "--time", "3s", "--records", filepath.Join(dir, "runs"))
	require.Equal(t, exitPass, code, stderr)
	found, err := filepath.Glob(filepath.Join(dir, "runs", "*"))
	require.NoError(t, err)
	require.Len(t, found, 1)
	for _, form := range []string{"--semicolon=false", "--semicolon"} {
		code, log, stderr := command("", "export", found[0], "--csv", form)
		require.Equal(t, exitPass, code, stderr)
		code, out, stderr := command(log, "measure", "-")
		require.Equal(t, exitPass, code, stderr)
		require.True(t, strings.HasPrefix(out, "VIRTUAL: "), out)
		code, out, _ = command(log, "measure", "-", "--json")
		require.Equal(t, exitPass, code)
		require.Contains(t, out, `"virtual": true`)
		code, out, _ = command(strings.ReplaceAll(log, "VIRTUAL", "bench"), "measure", "-")
		require.Equal(t, exitPass, code)
		require.NotContains(t, out, "VIRTUAL")
	}
	require.NoError(t, formone.Rewrite(found[0])) // whose samples are a table
	code, out, stderr := command("", "measure", filepath.Join(found[0], "samples.csv"))
	require.Equal(t, exitPass, code, stderr)
	require.True(t, strings.HasPrefix(out, "VIRTUAL: "), out)
}
