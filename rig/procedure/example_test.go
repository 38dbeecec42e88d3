package procedure_test

import (
	"context"
	"encoding/json"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig"
	"govrig/rig/commission"
	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/phase"
	"govrig/rig/procedure"
	"govrig/rig/procedure/proceduretest"
	"govrig/rig/runlog"
	"govrig/sim/machine"
)

// example is the smallest procedure: it idles for a moment and counts the pulses
// of the throttle line.
var example = execution.Procedure{
	Name: "example", Title: "An example", Short: "Count throttle pulses",
	Briefing: execution.GovernedBriefing("Counts throttle pulses."),
	New:      func() execution.Options { return &options{Time: 1} },
}

type options struct {
	execution.Plain `json:"-"`
	Time            execution.Time
}

func (o *options) Flags() []execution.Flag {
	return []execution.Flag{{Name: "time", Usage: "how long to count", Value: &o.Time}}
}

func (*options) Measures(*machine.Machine) ([]measure.Declaration, error) {
	return []measure.Declaration{{Name: "throttle_pulses", Unit: "1", Limit: measure.AtLeast(1)}}, nil
}

func (o *options) Run(ctx context.Context, b *execution.Bench) (*execution.Run, error) {
	declared, _ := o.Measures(b.Machine)
	return b.Run(ctx, execution.Plan{Name: example.Name, Options: o, Declared: declared, Body: func(t *execution.Test) error {
		t.Helicopter()
		part, _, err := t.Play(rig.Phase{Key: phase.Of(phase.Idle), Steps: execution.Steps(float64(o.Time))})
		t.Sheet.Set("throttle_pulses", float64(len(part.Pulses)))
		return err
	}})
}

// A procedure is added by its value alone: it is found, walked, recorded, and run
// again from its record. (Its command: TestAddedProcedureHasACommand in cmd/govrig;
// its place on the page goes by the same list.)
func TestAProcedureIsAddedByItsValue(t *testing.T) {
	list := append(procedure.List{&example}, procedure.All...)
	require.Same(t, &example, list.Find("example"))
	require.Zero(t, list.Place("example"))
	require.Equal(t, "An example", list.Title("example"))

	dir := filepath.Join(t.TempDir(), "run")
	m := proceduretest.Medium(t)
	state, err := commission.Open(t.TempDir(), m, true, list[:1])
	require.NoError(t, err)
	walk := commission.Walk{
		State: state, Procedures: list[:1], Virtual: true, Notes: t.Output(), Finished: func(*execution.Run, error) {},
		Bench: func(_ context.Context, p *execution.Procedure, o execution.Options) (*execution.Bench, error) {
			b := &execution.Bench{Machine: m, Where: "virtual"}
			proceduretest.Recording(b, dir)
			return b, o.Simulate(b)
		},
	}
	require.NoError(t, walk.Go(context.Background()))
	require.Equal(t, measure.Pass, state.Steps[0].Outcome)

	kept, err := runlog.Open(dir)
	require.NoError(t, err)
	require.Equal(t, "example", kept.Info.Procedure)
	require.JSONEq(t, `{"Time":1}`, string(kept.Info.Options))
	again, err := list.Again(context.Background(), proceduretest.Bench(t, m, nil), kept.Info.Procedure, json.RawMessage(kept.Info.Options))
	require.NoError(t, err)
	require.Equal(t, measure.Pass, again.Result.Outcome)
}
