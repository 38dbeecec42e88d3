package loadstep

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure"
	"govrig/rig/measure/step"
	"govrig/rig/phase"
	"govrig/rig/procedure/proceduretest"
	"govrig/sim/machine"
	"govrig/sim/machine/unit"
)

// dips is a governor of a machine with the limits of ISO 8528-5, class G2 (from
// memory): band 1.5 %, dip 10 %, rise 12 %, recovery 5 s; and a change of load at
// 10 s that bends its speed by 5 % and is over after a second.
func dips(t *testing.T, kind phase.Kind, sign float64) (*governed.Governor, *execution.Trace, step.Load) {
	share := func(v float64) *unit.Share { s := unit.Share(v); return &s }
	recovery := unit.Time(5)
	m := proceduretest.Medium(t)
	g := governed.New(m, machine.SpeedSetting{Name: "hover", HeadSpeed: unit.Speed(1500 / execution.RPM), Limits: machine.Limits{
		Band: share(0.015), Dip: share(0.10), Overshoot: share(0.12), RecoveryTime: &recovery,
	}})
	part := &execution.Trace{Phases: []phase.Key{phase.Of(phase.Steady), phase.Of(kind)}}
	for i := range 4500 {
		at, n := float64(i)/500-1, 0
		y := g.Declared()
		if at >= 0 {
			n = 1
			y += sign * 0.05 * g.Declared() * math.E * at / 0.3 * math.Exp(-at/0.3)
		}
		part.Time, part.Speed, part.Phase = append(part.Time, 10+at), append(part.Speed, y), append(part.Phase, n)
	}
	load := step.AnalyseLoad(part.EngineSpeed(0, len(part.Time)), step.LoadConfig{
		Windows: step.Windows{Event: 10, Before: 1}, Declared: g.Declared(), Tolerance: governed.Tolerance,
	})
	return g, part, load
}

// The limits kept for the picture are those of the setting: the deviation after
// the change, the band before it, and the tolerance band of 2 % about the new speed
// when the recovery time, counted from leaving the band, is over.
func TestLimitsLieWhereTheyBelong(t *testing.T) {
	g, part, load := dips(t, phase.LoadOn, -1)
	v := viewOf(g, part, phase.LoadOn, measure.LoadOn, load)
	require.Len(t, v.Beyond, 5)
	require.InDelta(t, 1350, *v.Beyond[0].High, 1e-6)
	require.Zero(t, *v.Beyond[0].From)
	require.Nil(t, v.Beyond[0].To)
	require.InDelta(t, 1500+11.25, *v.Beyond[1].Low, 0.01)
	require.InDelta(t, 1500-11.25, *v.Beyond[2].High, 0.01)
	require.Zero(t, *v.Beyond[1].To)
	require.InDelta(t, 5, *v.Beyond[3].From, 0.05)
	require.Greater(t, *v.Beyond[3].From, 5.0, "the clock starts when the speed leaves the band")
	require.InDelta(t, 1515, *v.Beyond[3].Low, 0.1)
	require.InDelta(t, 1485, *v.Beyond[4].High, 0.1)
	require.InDelta(t, 0.3, v.Marks[0].At, 0.01, "the mark stands at the bottom of the dip")
	require.InDelta(t, 1425, v.Marks[0].Speed, 0.1)

	g, part, load = dips(t, phase.LoadOff, 1)
	v = viewOf(g, part, phase.LoadOff, measure.LoadOff, load)
	require.InDelta(t, 1680, *v.Beyond[0].Low, 1e-6, "a rise is limited above")
	require.Nil(t, v.Beyond[0].High)
}

// While an overload lasts no governor can hold the speed.
func TestOverloadIsNoDip(t *testing.T) {
	g, part, _ := dips(t, phase.Climb, -1)
	part.Phases = append(part.Phases, phase.Of(phase.Overload), phase.Of(phase.Stop))
	for i, at := range part.Time {
		switch {
		case at >= 17:
			part.Phase[i] = 3
		case at >= 16:
			part.Phase[i] = 2
		}
	}
	v := flightView(g, part)
	require.Len(t, v.Beyond, 2)
	require.InDelta(t, 6, *v.Beyond[0].To, 0.01)
	require.Nil(t, v.Beyond[1].To)
	require.InDelta(t, 18, v.To, 0.01)
}
