package report

import (
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/identification"
	"govrig/rig/identification/fit"
	"govrig/sim/standin/governor/model"
	"govrig/sim/unit"
)

// identified is a result with a law and the proof of one load step.
func identified() *identification.Result {
	m := &model.Model{}
	m.Law.IntegralTime = model.Known[unit.Time](0.8, 0.004, "a-sweep")
	return &identification.Result{
		Kind: "Its law is PI; it sees the speed of 1.5 turns ago.", Model: m, Fit: &fit.Fit{},
		Proof: []identification.Step{{
			Setting: "hover", Measured: identification.Dip{Deviation: -3, Recovery: 1.4}, Predicted: identification.Dip{Deviation: -3.1, Recovery: 1.3},
			Time: []float64{0, 1, 2}, MeasuredHead: []float64{1480, 1440, 1480}, PredictedHead: []float64{1480, 1438, 1480},
		}},
	}
}

// The page says what governor it is and lays the two load steps over one another; that
// they agree is said where they do, and only there.
func TestGovernorOnThePage(t *testing.T) {
	const agree = "are those that were measured"
	d := &Document{Governor: identified()}
	p := d.governorPart()
	require.Equal(t, d.Governor.Kind, p.Kind)
	require.Equal(t, [][2]string{{"integral time", "0.8 s ± 0.004 s"}}, p.Rows)
	require.Len(t, p.Pictures, 1)
	require.Equal(t, "dip 3.0 %, predicted 3.1 %", p.Pictures[0].Notes[0].Text)
	require.Contains(t, string(p.Pictures[0].SVG), "class=\"first\"")
	require.Contains(t, string(p.Pictures[0].SVG), "class=\"second\"")
	require.Contains(t, p.Proof[0], agree)

	d.Governor.Differs = []string{"hover: the load step takes the speed off by -3.0 %, and the law predicts -4.0 %"}
	p = d.governorPart()
	require.Equal(t, []string{"Hover: the load step takes the speed off by −3.0 %, and the law predicts −4.0 %."}, p.Proof)

	d.Governor = &identification.Result{Model: &model.Model{}, Doubts: []string{"it did not govern in a-sweep"}}
	p = d.governorPart()
	require.Equal(t, []string{"It did not govern in a-sweep."}, p.Doubts)
	require.Empty(t, p.Proof)
	require.Nil(t, (&Document{}).governorPart())
}
