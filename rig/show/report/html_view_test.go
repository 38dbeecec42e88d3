package report

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
	"govrig/rig/pen"
	"govrig/rig/phase"
	"govrig/rig/runlog"
)

// A fault begins after what leads up to it, and is numbered there.
func TestFaultsAreNumberedWhereTheyBegin(t *testing.T) {
	before := func(of string) phase.Key { return phase.Key{Kind: phase.Before, Of: of} }
	fault := func(of string) phase.Key { return phase.Key{Kind: phase.Fault, Of: of} }
	require.Equal(t, map[int]string{4: "1", 9: "2", 13: "3", 19: "4"}, faultsOf([]phase.Key{
		phase.Of(phase.Idle), phase.Of(phase.SpoolUp), phase.Of(phase.Heavy), before("missing pulse"), fault("missing pulse"),
		{Kind: phase.After, Of: "missing pulse"}, before("reset"), phase.Of("off and on"), phase.Of("off and on"), fault("reset"),
		before("lost"), before("load off"), before("load on"), fault("lost"),
		phase.Of("stick low"), phase.Of("up again"), before("stick low"), before("idle"), before("spool-up"), fault("lost, spool-up"),
		fault("still lost"),
	}))
}

// What was kept is drawn as it is: an end that is nil is without end, a mark
// without a label is a point of the curve.
func TestViewsAreDrawnAsTheyAre(t *testing.T) {
	v := &view{View: runlog.View{
		From: 9, To: 18, Origin: 10, Wanted: 1500,
		Beyond: []runlog.Ground{{From: runlog.Edge(0), High: runlog.Edge(1350)}},
		Marks:  []runlog.Mark{{At: 0.3, Speed: 1425}, {At: 2, Label: "1"}},
	}, head: pen.NewThinner(-1, 8, smallColumns)}
	for i := range 4500 {
		v.head.Add(float64(i)/500-1, 1500)
	}
	p := v.speedPanel()
	require.Equal(t, []pen.Zone{{X0: 0, X1: math.Inf(1), Y0: math.Inf(-1), Y1: 1350}}, p.Zones)
	require.Len(t, p.Marks, 2)
	require.True(t, p.Marks[0].Ring)
	require.Equal(t, "1", p.Marks[1].Label)
	require.Less(t, p.Low, 1350.0, "the limit is seen")
	require.Greater(t, p.High, p.Marks[1].Y, "the label has room")
}

// A fault of which something was measured and something could not be told is no fault
// that was not done; one that missed a limit is not safe, whatever else is unknown.
func TestFaultsInAWord(t *testing.T) {
	value := 1.0
	taken, missed := &measure.Measure{Value: &value, Outcome: measure.Pass}, &measure.Measure{Value: &value, Outcome: measure.Fail}
	none := &measure.Measure{Outcome: measure.NotRun, Warnings: []string{"the reason"}}
	for word, all := range map[string][]*measure.Measure{
		"safe": {taken, taken, taken}, "NOT SAFE": {none, missed, taken}, "cannot tell": {none, taken, taken}, "not done": {none, none, none},
	} {
		var row faultRow
		row.judge(all)
		require.Equal(t, word, row.Safe)
	}
}
