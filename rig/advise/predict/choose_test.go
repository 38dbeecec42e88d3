package predict

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/finding"
	"govrig/rig/measure"
	"govrig/sim/machine"
	"govrig/sim/unit"
)

// held is a cell that holds.
func held(recovery, dip, time float64) Cell {
	deviation, band, gain, phase := -dip, 0.1, 3.0, 60.0
	return Cell{
		Time: time, Outcome: Holds, Recovery: &recovery, Deviation: &deviation, Band: &band,
		GainMargin: &gain, PhaseMargin: &phase,
	}
}

func TestTheBestIsBackSoonestThenDipsLeastThenIsExactSoonest(t *testing.T) {
	missing := held(0, 0, 1)
	missing.Misses = []string{"gain margin"}
	hunting := Cell{Outcome: Hunts, Misses: []string{}}
	for name, tt := range map[string]struct {
		cells []Cell
		best  int
	}{
		"sooner":             {[]Cell{held(1, 2, 1), held(0.5, 3, 1)}, 1},
		"less dip":           {[]Cell{held(0.49, 3, 1), held(0.51, 2, 1)}, 1},
		"shorter time":       {[]Cell{held(0.5, 2, 3), held(0.5, 2.05, 1), held(0.5, 2, 2)}, 1},
		"no integral":        {[]Cell{held(0.5, 2, 0), held(0.5, 2, 9)}, 1},
		"what misses is out": {[]Cell{missing, held(5, 9, 1)}, 1},
		"what hunts is out":  {[]Cell{hunting, held(5, 9, 1)}, 1},
	} {
		c := Case{Cells: tt.cells, Best: -1}
		c.choose()
		require.Equal(t, tt.best, c.Best, name)
		require.NotEmpty(t, c.Reason)
	}
	none := Case{Cells: []Cell{missing, hunting, hunting}, Best: -1}
	none.choose()
	require.Equal(t, -1, none.Best)
	require.Equal(t, "no cell of the grid is good: 1 miss gain margin, 2 hunts", none.Reason)
}

// A best cell on the edge of the grid is said to be there; one amid it is not, nor is
// one on an axis of a single value.
func TestTheEdgeOfTheGrid(t *testing.T) {
	for best, says := range map[int]string{0: "its lowest gain, its shortest integral time", 4: "", 5: "its highest gain", 7: "its longest integral time"} {
		var c Case
		for i := range 9 {
			cell := held(2, 3, float64(1+i/3))
			if cell.Gain = float64(i % 3); i == best {
				*cell.Recovery = 1
			}
			c.Cells = append(c.Cells, cell)
		}
		c.Best = -1
		c.choose()
		require.Equal(t, best, c.Best)
		require.Equal(t, says != "", strings.Contains(c.Reason, "edge of the grid ("+says), c.Reason)
	}
	c := Case{Cells: []Cell{held(1, 2, 1)}, Best: -1}
	c.choose()
	require.NotContains(t, c.Reason, "edge of the grid")
}

// A speed in its band that drifts on within it is back; one that is still on its way
// into it, or leaves it late, is not.
func TestBack(t *testing.T) {
	speeds := func(f func(t float64) float64) measure.Series {
		s := samples(10)
		for i, at := range s.T {
			if s.Y[i] = 13_000; at > lead {
				s.Y[i] = f(at - lead)
			}
		}
		return s
	}
	for name, c := range map[string]struct {
		speed func(t float64) float64
		want  float64 // negative is not back
	}{
		// 13 000 − 600 e^(−t/τ) is within 130 of its end after τ ln(600/130).
		"drifts in its band": {func(t float64) float64 { return 13_000 - 500*math.Exp(-t/0.5) - 100*math.Exp(-t/8) }, 0.8},
		"quickly back":       {func(t float64) float64 { return 13_000 - 600*math.Exp(-t/0.5) }, 0.5 * math.Log(600/130.)},
		"never left":         {func(t float64) float64 { return 12_950 }, 0},
		"still on its way":   {func(t float64) float64 { return 13_000 - 600*math.Exp(-t/10) }, -1},
		"leaves it late":     {func(t float64) float64 { return 13_000 - 400*math.Max(0, t-7) }, -1},
	} {
		s := speeds(c.speed)
		last := s.Between(7.75, 11)
		got := back(s, last, 130)
		if !finding.Settled(last, 130) {
			got = nil
		}
		if require.Equal(t, c.want >= 0, got != nil, name); got != nil {
			require.InDelta(t, c.want, *got, 0.15, name)
		}
	}
}

func TestLimitsAndMarginsThatAreMissed(t *testing.T) {
	share := func(v float64) *unit.Share { s := unit.Share(v / 100); return &s }
	seconds := unit.Time(1)
	tr := trial{limits: machine.Limits{Dip: share(3), Band: share(0.2), RecoveryTime: &seconds}}
	judged := func(change func(*Cell)) []string {
		c := held(0.9, 2.9, 1)
		change(&c)
		tr.judge(&c)
		return c.Misses
	}
	require.Empty(t, judged(func(*Cell) {}))
	require.Equal(t, []string{"max_dip"}, judged(func(c *Cell) { *c.Deviation = -3.1 }))
	require.Equal(t, []string{"max_speed_band"}, judged(func(c *Cell) { *c.Band = 0.21 }))
	require.Equal(t, []string{"max_recovery_time"}, judged(func(c *Cell) { *c.Recovery = 1.1 }))
	require.Equal(t, []string{"gain margin", "phase margin"}, judged(func(c *Cell) { *c.GainMargin, *c.PhaseMargin = 1.9, 44 }))
	require.Empty(t, judged(func(c *Cell) { c.GainMargin, c.PhaseMargin = nil, nil }))
	require.Empty(t, judged(func(c *Cell) { *c = Cell{Outcome: Hunts} }))
}
