package main

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
	"govrig/rig/runlog"
)

var renew = flag.Bool("renew", false, "write the stored expectations anew; say in the commit why they changed")

// expectation is what one procedure of a commission came to.
type expectation struct {
	Procedure string            `json:"procedure"`
	Outcome   measure.Outcome   `json:"outcome"`
	Measures  []expectedMeasure `json:"measures"`
	Found     []string          `json:"found"`
	Next      []string          `json:"next,omitempty"`
}

type expectedMeasure struct {
	Name    string          `json:"name"`
	Value   *float64        `json:"value"`
	Unit    string          `json:"unit"`
	Limit   *measure.Limit  `json:"limit,omitempty"`
	Outcome measure.Outcome `json:"outcome"`
}

// longestCommission is how long a person stands at the bench at most, s of the board.
const longestCommission = 20 * 60.

// Everything that a virtual commission of each shipped machine comes to is as it
// was stored: measure by measure, and what was found. The numbers come from the
// same seeds every time; a change of them has to be meant.
func TestCommissionComesToWhatItDid(t *testing.T) {
	machines, err := filepath.Glob(root + "/testdata/machines/*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, machines)
	for _, machine := range machines {
		name := strings.TrimSuffix(filepath.Base(machine), ".yaml")
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			records := t.TempDir()
			var out, notes bytes.Buffer
			run(context.Background(), []string{"commission", machine, "--virtual", "--records", records},
				streams{strings.NewReader(""), &out, &notes})
			sameAsStored(t, filepath.Join("testdata", "expected", name+".json"), cameTo(t, records))
			require.LessOrEqual(t, boardTime(t, records), longestCommission)
		})
	}
}

// boardTime is how long the runs in a folder of records lasted, s of the board.
func boardTime(t *testing.T, records string) (sum float64) {
	kept, unreadable, err := runlog.List(records, func(*runlog.Summary) bool { return true })
	require.NoError(t, err)
	require.Empty(t, unreadable)
	for _, rec := range kept {
		length, err := rec.Length()
		require.NoError(t, err)
		sum += length
	}
	return sum
}

// cameTo reads what the kept runs came to, in the order in which they started.
func cameTo(t *testing.T, records string) (all []expectation) {
	dirs, err := filepath.Glob(records + "/*/result.json")
	require.NoError(t, err)
	for _, result := range dirs {
		log, err := runlog.Open(filepath.Dir(result))
		require.NoError(t, err)
		require.NotNil(t, log.End)
		came, err := log.Result()
		require.NoError(t, err)
		e := expectation{Procedure: came.Procedure, Outcome: came.Outcome, Found: log.End.Found, Next: log.End.Next}
		for _, m := range came.Measures {
			e.Measures = append(e.Measures, expectedMeasure{m.Name, m.Value, m.Unit, m.Limit, m.Outcome})
		}
		all = append(all, e)
	}
	return all
}

func sameAsStored(t *testing.T, file string, got []expectation) {
	if *renew {
		text, err := json.MarshalIndent(got, "", " ")
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(file, append(text, '\n'), 0o644))
		return
	}
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	var want []expectation
	require.NoError(t, json.Unmarshal(text, &want))
	stored := map[string]expectation{}
	for _, e := range want {
		stored[e.Procedure] = e
	}
	require.Len(t, got, len(want))
	for _, e := range got {
		old := stored[e.Procedure]
		require.Equal(t, old.Outcome, e.Outcome, e.Procedure)
		require.Equal(t, old.Found, e.Found, e.Procedure)
		require.Equal(t, old.Next, e.Next, e.Procedure)
		require.Len(t, e.Measures, len(old.Measures), e.Procedure)
		for i, m := range e.Measures {
			was := old.Measures[i]
			if was.Value != nil && m.Value != nil && nearly(*was.Value, *m.Value) {
				m.Value = was.Value
			}
			require.Equal(t, was, m, "%s: %s", e.Procedure, m.Name)
		}
	}
}

// nearly leaves room for another processor's rounding, not for another number.
func nearly(a, b float64) bool { return math.Abs(a-b) <= 1e-9*math.Max(math.Abs(a), math.Abs(b)) }
