package predict

import (
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/sim/machine"
	"govrig/sim/machine/unit"
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
