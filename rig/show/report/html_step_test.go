package report

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/pen"
	"govrig/rig/phase"
	"govrig/sim/machine"
	"govrig/sim/machine/unit"
)

// dip makes a clip of a load change: a dip of 5 % that is back after a
// second, of a speed of 1500 rpm.
func dip(k kind) *clip {
	share := func(v float64) *unit.Share { s := unit.Share(v); return &s }
	recovery := unit.Time(5)
	c := &clip{
		kind: k, from: 9, to: 18, event: 10,
		setting: machine.SpeedSetting{
			Name: "hover", HeadSpeed: unit.Speed(1500 / rpm),
			// ISO 8528-5, class G2 (from memory): band 1.5 %, dip 10 %, rise 12 %,
			// recovery 5 s.
			Limits: machine.Limits{Band: share(0.015), Dip: share(0.10), Overshoot: share(0.12), RecoveryTime: &recovery},
		},
	}
	c.head = pen.NewThinner(-1, 8, clipColumns)
	for i := range 4500 {
		at := float64(i)/500 - 1
		y := 1500.0
		if at > 0 {
			y -= 75 * math.Exp(1) * at / 0.3 * math.Exp(-at/0.3)
		}
		c.head.Add(at, y)
	}
	return c
}

// The limits drawn in are those of the setting: the band before the change, the
// deviation after it, and the tolerance band of 2 % about the new speed when the
// recovery time, counted from leaving the band, is over.
func TestLimitsAreDrawnWhereTheyLie(t *testing.T) {
	zones := dip(loadOn).zones(1500)
	require.Len(t, zones, 5)
	require.Equal(t, pen.Zone{X0: 0, X1: math.Inf(1), Y0: math.Inf(-1), Y1: 1350}, zones[0])
	require.InDelta(t, 1500+11.25, zones[1].Y0, 0.01)
	require.InDelta(t, 1500-11.25, zones[2].Y1, 0.01)
	require.Zero(t, zones[1].X1)
	require.InDelta(t, 5, zones[3].X0, 0.05)
	require.Greater(t, zones[3].X0, 5.0, "the clock starts when the speed leaves the band")
	require.InDelta(t, 1515, zones[3].Y0, 0.1)
	require.InDelta(t, 1485, zones[4].Y1, 0.1)
}

func TestLoadOffIsLimitedAbove(t *testing.T) {
	zones := dip(loadOff).zones(1500)
	require.Zero(t, zones[0].X0)
	require.InDelta(t, 1680, zones[0].Y0, 1e-6)
	require.True(t, math.IsInf(zones[0].Y1, 1))
}

// While an overload lasts no governor can hold the speed.
func TestOverloadIsNoDip(t *testing.T) {
	c := dip(flight)
	c.overload = 6
	zones := c.zones(1500)
	require.Equal(t, 6.0, zones[0].X1)
	require.Len(t, zones, 2)
}

// The mark stands at the bottom of the dip.
func TestExtremeIsMarked(t *testing.T) {
	c := dip(loadOn)
	x, y := c.head.Curve()
	marks := c.extreme(x, y)
	require.Len(t, marks, 1)
	require.InDelta(t, 0.3, marks[0].X, 0.01)
	require.InDelta(t, 1425, marks[0].Y, 0.1)
}

// A fault begins after what leads up to it.
func TestFaultsAreNumberedWhereTheyBegin(t *testing.T) {
	var spans []span
	before := func(of string) phase.Key { return phase.Key{Kind: phase.Before, Of: of} }
	fault := func(of string) phase.Key { return phase.Key{Kind: phase.Fault, Of: of} }
	for i, key := range []phase.Key{
		phase.Of(phase.Idle), phase.Of(phase.SpoolUp), phase.Of(phase.Heavy), before("missing pulse"), fault("missing pulse"),
		{Kind: phase.After, Of: "missing pulse"}, before("reset"), phase.Of("off and on"), phase.Of("off and on"), fault("reset"),
		before("lost"), before("load off"), before("load on"), fault("lost"),
		phase.Of("stick low"), phase.Of("up again"), before("stick low"), before("idle"), before("spool-up"), fault("lost, spool-up"),
		fault("still lost"),
	} {
		spans = append(spans, span{Key: key, from: float64(i), seen: true})
	}
	require.Equal(t, []float64{4, 9, 13, 19}, faultTimes(spans))
}
