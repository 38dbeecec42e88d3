package commission

import (
	"encoding/json"
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/procedure"
	"govrig/rig/procedure/hold"
	"govrig/rig/procedure/throttle"
	"govrig/rig/procedure/tune"
	"govrig/rig/runlog"
	"govrig/sim/machine"
)

// keeper makes records without running anything.
type keeper struct {
	t    *testing.T
	dir  string
	text string
	n    int
}

func newKeeper(t *testing.T) *keeper {
	m, err := machine.Load("../../testdata/machines/medium-15cc.yaml")
	require.NoError(t, err)
	return &keeper{t: t, dir: t.TempDir(), text: m.Text}
}

// kept is one run.
type kept struct {
	procedure, speed, option string
	outcome                  measure.Outcome
	virtual                  bool
	stopped                  bool
	older                    bool   // it does not say what it has read
	old, new                 string // a text of the machine file that is replaced
}

func (k *keeper) keep(r kept) *runlog.Record {
	k.n++
	options, err := json.Marshal(map[string]string{"Speed": r.option})
	require.NoError(k.t, err)
	text := strings.Replace(k.text, r.old, r.new, 1)
	dir := filepath.Join(k.dir, fmt.Sprint(k.n))
	m, err := machine.Parse("kept.yaml", []byte(text))
	require.NoError(k.t, err)
	var read map[string]string
	if setting := strings.TrimSuffix(r.option, "all"); !r.older {
		read = execution.ReadOf(m, procedure.All.Find(r.procedure).Reads, setting, r.virtual)
	}
	w, err := runlog.Create(dir, runlog.Info{
		Read:      read,
		Procedure: r.procedure, Speed: r.speed, Options: options, Virtual: r.virtual, TickHz: 16_000_000, Lockstep: true,
		Started: fmt.Sprintf("2026-03-01T19:%02d:00.000Z", k.n), Machine: "Medium machine, 15 cm³", MachineText: text,
	})
	require.NoError(k.t, err)
	limit := measure.AtMost(2)
	if r.outcome == measure.Fail {
		limit = measure.AtMost(0.5)
	}
	value := &one
	if r.outcome == measure.NotRun || r.outcome == measure.Error {
		value = nil
	}
	result := measure.Result{
		Schema: measure.Schema, Procedure: r.procedure, Outcome: r.outcome, Warnings: []string{},
		Measures: []measure.Measure{{Name: "x", Value: value, Unit: "%", Outcome: r.outcome, Limit: limit, Warnings: []string{}}},
	}
	reason := runlog.Complete
	if r.stopped {
		reason = runlog.Stopped
	}
	require.NoError(k.t, w.Close(runlog.End{Reason: reason, Outcome: r.outcome, Result: &result}))
	rec, err := runlog.Open(dir)
	require.NoError(k.t, err)
	return rec
}

var one = 1.0

var twoSteps = procedure.List{&throttle.Procedure, &hold.Procedure, &tune.Procedure}

func (k *keeper) judged(runs ...kept) *State {
	var records []*runlog.Record
	for _, r := range runs {
		records = append(records, k.keep(r))
	}
	s, err := OfRecords(twoSteps, records, nil)
	require.NoError(k.t, err)
	return s
}

func TestRecordsThatPassAreAGo(t *testing.T) {
	throttle := kept{procedure: "throttle", outcome: measure.Pass}
	all := kept{procedure: "hold", option: "all", outcome: measure.Pass}
	at := func(speed string) kept {
		return kept{procedure: "hold", speed: speed, option: speed, outcome: measure.Pass}
	}
	failed := kept{procedure: "hold", option: "all", outcome: measure.Fail}
	tests := map[string]struct {
		runs   []kept
		want   Verdict
		reason string
	}{
		"all that is needed":                  {[]kept{throttle, all}, Go, "every step"},
		"settings one by one":                 {[]kept{throttle, at("hover"), at("circuit"), at("brisk")}, Go, "every step"},
		"a setting is missing":                {[]kept{throttle, at("hover"), at("brisk")}, NotProven, "there is no run at circuit"},
		"a step is missing":                   {[]kept{all}, NotProven, "(throttle) has not been done"},
		"a limit missed":                      {[]kept{throttle, failed}, NoGo, "Limits were missed in Steady state: start no engine until they are met."},
		"the newest counts":                   {[]kept{throttle, failed, all}, Go, "every step"},
		"the newest counts, whatever it says": {[]kept{throttle, all, failed}, NoGo, "Steady state"},
		"a part that passes hides no fail":    {[]kept{throttle, failed, at("hover")}, NoGo, "Steady state"},
		"a run that was stopped":              {[]kept{{procedure: "throttle", outcome: measure.Pass, stopped: true}, all}, NotProven, "(throttle): not everything"},
		"a remark in the machine file":        {[]kept{{procedure: "throttle", outcome: measure.Pass, old: "\n", new: "\n# changed\n"}, all}, Go, "every step"},
		"what throttle does not read":         {[]kept{{procedure: "throttle", outcome: measure.Pass, old: "gap: 1.4 mm", new: "gap: 1.7 mm"}, all}, Go, "every step"},
		"what throttle reads": {
			[]kept{{procedure: "throttle", outcome: measure.Pass, old: "servo_arm: 12 mm", new: "servo_arm: 11.5 mm"}, all}, NotProven,
			"(throttle) is to be done again: throttle_linkage.servo_arm was 11.5 mm and is 12 mm now",
		},
		"the same in an older record": {
			[]kept{{procedure: "throttle", outcome: measure.Pass, old: "servo_arm: 12 mm", new: "servo_arm: 11.5 mm", older: true}, all}, NotProven,
			"(throttle) is to be done again: throttle_linkage.servo_arm was 11.5 mm and is 12 mm now",
		},
		"a speed of one setting": {
			[]kept{throttle, {procedure: "hold", option: "all", outcome: measure.Pass, old: "1660 rpm", new: "1680 rpm"}, {procedure: "hold", speed: "hover", option: "hover", outcome: measure.Pass}},
			NotProven, "(hold) is to be done again, at circuit: speeds.circuit.head_speed was 1680 rpm and is 1660 rpm now",
		},
		"a speed that was done again": {
			[]kept{throttle, {procedure: "hold", option: "all", outcome: measure.Pass, old: "1660 rpm", new: "1680 rpm"}, at("circuit")},
			Go, "every step",
		},
		"a virtual run proves nothing": {[]kept{throttle, {procedure: "hold", option: "all", outcome: measure.Pass, virtual: true}}, NotProven, "(hold) has not been done"},
		"an optional step that fails":  {[]kept{throttle, all, {procedure: "tune", outcome: measure.Fail}}, NoGo, "Gain tried"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			s := newKeeper(t).judged(tt.runs...)
			require.Equal(t, tt.want, s.Verdict, "%v", s.Reasons)
			require.Contains(t, s.Reasons[0], tt.reason)
		})
	}
}

func TestVirtualRecordsAreNeverAGo(t *testing.T) {
	s := newKeeper(t).judged(
		kept{procedure: "throttle", outcome: measure.Pass, virtual: true},
		kept{procedure: "hold", option: "all", outcome: measure.Pass, virtual: true},
	)
	require.Equal(t, NotProven, s.Verdict)
	require.Contains(t, s.Reasons[0], "virtual")
	require.True(t, s.Virtual)
}
