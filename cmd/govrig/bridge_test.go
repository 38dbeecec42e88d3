package main

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// The whole table of bridges, as it stands in the README:
//
//	go test ./cmd/govrig -run OnEveryBridge -v -bridges frames,timer-1,timer-4,timer-16,jitter,stalls,far
var bridges = flag.String("bridges", "", "commission the medium machine behind these kinds of wire and print the table")

// bridgeRows are the measures of the table: of a procedure, in a unit of their own
// tolerance. A limit cycle of the governor's output, whose moments differ with the
// wire, scatters them: hence 0.2 % of speed, 50 ms, and what the margins are
// promised to.
var bridgeRows = []struct {
	procedure, name string
	tolerance       float64 // beside 2 %
}{
	{"accept", "missing_pulses_ridden_over", 1e9}, // told in powers of two
	{"throttle", "arming_threshold", 1},
	{"throttle", "time_to_follow", 35}, // the longest of eight, to a throttle frame, with the wire's own time
	{"hold", "governed_speed_hover", 0},
	{"spoolup", "spool_up_time", 0.05},
	{"spoolup", "spool_up_overshoot", 0.2},
	{"loadstep", "transient_deviation_load_on_hover", 0.2},
	{"loadstep", "recovery_time_load_on_hover", 0.05},
	{"sweep", "phase_margin_hover_light", 1},
	{"sweep", "gain_margin_hover_light", 0.3},
	{"faults", "time_to_safe_pickup_lost", 0.02},
	{"loadstep", "loop_delay", 1e9},
	{"loadstep", "late_frames", 1e9},
	{"loadstep", "pulse_interval_error_worst", 0.1},
}

// behind gives what a virtual commission behind a kind of wire came to.
func behind(t *testing.T, machine, kind string) []expectation {
	records := t.TempDir()
	args := []string{"commission", root + "/testdata/machines/" + machine + ".yaml", "--virtual", "--records", records}
	if kind != "" {
		args = append(args, "--bridge", kind)
	}
	var out, notes bytes.Buffer
	code := run(context.Background(), args, streams{strings.NewReader(""), &out, &notes})
	require.Equal(t, exitPass, code, "%s: %s", kind, out.String())
	return cameTo(t, records)
}

func found(t *testing.T, came []expectation, procedure, name string) float64 {
	t.Helper()
	for _, e := range came {
		for _, m := range e.Measures {
			if e.Procedure == procedure && m.Name == name {
				require.NotNil(t, m.Value, "%s: %s", procedure, name)
				return *m.Value
			}
		}
	}
	t.Fatalf("no %s of %s", name, procedure)
	return 0
}

// The whole of commission passes behind every usual kind of wire, and what it
// measures is what it measures without one: up to a round trip of 20 ms.
func TestCommissionOnEveryBridge(t *testing.T) {
	const machine = "medium-15cc"
	kinds := []string{"far"}
	if *bridges != "" {
		kinds = strings.Split(*bridges, ",")
	}
	ideal := behind(t, machine, "")
	var head, lines strings.Builder
	for _, r := range bridgeRows {
		fmt.Fprintf(&head, " | %s", r.name)
		fmt.Fprintf(&lines, " | %.4g", found(t, ideal, r.procedure, r.name))
	}
	t.Logf("bridge%s", &head)
	t.Logf("none%s", &lines)
	for _, kind := range kinds {
		lines.Reset()
		came := behind(t, machine, kind)
		for _, r := range bridgeRows {
			want, got := found(t, ideal, r.procedure, r.name), found(t, came, r.procedure, r.name)
			fmt.Fprintf(&lines, " | %.4g", got)
			if math.Abs(got-want) > 0.02*math.Abs(want)+r.tolerance {
				t.Errorf("%s: %s of %s is %g, without it %g", kind, r.name, r.procedure, got, want)
			}
		}
		t.Logf("%s%s", kind, &lines)
	}
}
