package pickup

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/rig"
	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/measure/mounting"
	"govrig/rig/procedure/proceduretest"
)

// Pulses as of the medium machine's pickup come from its gap, 1.4 mm, and from about
// 4.5 mm. On a real board a person is asked which it is before it passes; of a
// simulated one nobody is.
func TestPickupAsksWhichGap(t *testing.T) {
	m := proceduretest.Medium(t)
	var j judge
	require.NoError(t, j.prepare(m))
	seen := PickupVerdict{Kind: PickupRight, PerTurn: 1, Causes: bothGaps(&j)}
	for name, c := range map[string]struct {
		board  uint8
		answer string
		err    error
		asked  bool
		kind   PickupKind
		untold bool
	}{
		"near":      {answer: "near", asked: true, kind: PickupRight},
		"wide":      {answer: "wide", asked: true, kind: PickupNearLimit},
		"nobody":    {err: execution.ErrNotAsked, asked: true, kind: PickupRight, untold: true},
		"simulated": {board: protocol.BoardVirtual, kind: PickupRight},
	} {
		asked := false
		p := &probing{judge: &j, Test: &execution.Test{
			Session: &rig.Session{Identity: protocol.Identity{Board: c.board}},
			Run:     &execution.Run{},
			Sheet:   measure.NewSheet("pickup", false, pickupMeasures(m, &j)...),
			Bench: &execution.Bench{Machine: m, Ask: func(context.Context, execution.Question) (string, error) {
				asked = true
				return c.answer, c.err
			}},
		}}
		v, err := p.askGap(seen)
		require.NoError(t, err, name)
		require.Equal(t, c.asked, asked, name)
		require.Equal(t, c.kind, v.Kind, name)
		require.Equal(t, c.untold, p.gapUntold, name)
		_, still := v.widerGap()
		require.Equal(t, !c.asked || c.untold, still, "%s: it is said that the gap may be wider", name)
	}
}

// A width that goes with one gap only asks nothing.
func TestPickupAsksNothingOfOneGap(t *testing.T) {
	var j judge
	require.NoError(t, j.prepare(proceduretest.Medium(t)))
	_, ok := PickupVerdict{Kind: PickupRight, PerTurn: 1, Causes: bothGaps(&j)[:1]}.widerGap()
	require.False(t, ok)
	_, ok = PickupVerdict{Kind: PickupUnlike, PerTurn: 1, Causes: bothGaps(&j)}.widerGap()
	require.False(t, ok, "it does not pass anyway")
}

// bothGaps are the two as-filed causes of the file's own width.
func bothGaps(j *judge) []mounting.Cause {
	at := func(gap float64) mounting.Cause {
		p := j.file
		p.Gap = gap
		return mounting.Cause{Change: mounting.AsFiled, Params: p, Gap: gap, Low: 0.9 * gap, High: 1.1 * gap}
	}
	return []mounting.Cause{at(j.file.Gap), at(4.5e-3)}
}
