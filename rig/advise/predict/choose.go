package predict

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"sort"
	"strings"
)

// Good cells that are back within soon of each other, s, and dip within shallow
// of each other, %, count as equals: the one with the shorter integral time is
// better, as its speed is sooner exactly right.
const (
	soon    = 0.1
	shallow = 0.5
)

// choose finds the best cell and says why it is, or why there is none.
func (c *Case) choose() {
	if c.Problem != "" {
		return
	}
	good := 0
	for i := range c.Cells {
		if !c.Cells[i].Good() {
			continue
		}
		if good++; c.Best < 0 || better(&c.Cells[i], &c.Cells[c.Best]) {
			c.Best = i
		}
	}
	if c.Best < 0 {
		c.Reason = "no cell of the grid is good: " + c.tally()
		return
	}
	c.Reason = fmt.Sprintf("%d of %d cells meet the limits and keep a gain margin of %g and a phase margin of %g° at both ends of the load step; of these it is back soonest; of those equal to %g s it dips least; of those equal to %g %% too it has the shortest integral time",
		good, len(c.Cells), leastGainMargin, leastPhaseMargin, soon, shallow) + c.edge()
}

// edge says that the best cell lies on the edge of the grid, if it does.
func (c *Case) edge() string {
	best, gains, times := c.Cells[c.Best], map[float64]bool{}, map[float64]bool{}
	for _, cell := range c.Cells {
		gains[cell.Gain], times[integral(&cell)] = true, true
	}
	var sides []string
	for _, axis := range []struct {
		at            float64
		values        map[float64]bool
		lowest, great string
	}{
		{best.Gain, gains, "its lowest gain", "its highest gain"},
		{integral(&best), times, "its shortest integral time", "its longest integral time"},
	} {
		sorted := slices.Sorted(maps.Keys(axis.values))
		switch n := len(sorted); {
		case n == 1:
		case axis.at == sorted[0]:
			sides = append(sides, axis.lowest)
		case axis.at == sorted[n-1]:
			sides = append(sides, axis.great)
		}
	}
	if len(sides) == 0 {
		return ""
	}
	return fmt.Sprintf("; it lies on the edge of the grid (%s), so there may be better beyond it", strings.Join(sides, ", "))
}

// better orders good cells. Measures count in whole steps, so that the order
// does not depend on the order of the cells.
func better(a, b *Cell) bool {
	by := cmp.Or(
		cmp.Compare(math.Round(*a.Recovery/soon), math.Round(*b.Recovery/soon)),
		cmp.Compare(math.Round(-*a.Deviation/shallow), math.Round(-*b.Deviation/shallow)),
		cmp.Compare(integral(a), integral(b)),
		cmp.Compare(*a.Recovery, *b.Recovery),
	)
	return by < 0
}

// integral is the integral time, endless where there is no integral.
func integral(c *Cell) float64 {
	if c.Time == 0 {
		return math.Inf(1)
	}
	return c.Time
}

// tally counts why cells are not good.
func (c *Case) tally() string {
	n := map[string]int{}
	for _, cell := range c.Cells {
		if cell.Outcome != Holds {
			n[string(cell.Outcome)]++
		}
		for _, miss := range cell.Misses {
			n["miss "+miss]++
		}
	}
	var words []string
	for what, count := range n {
		words = append(words, fmt.Sprintf("%d %s", count, what))
	}
	sort.Strings(words)
	return strings.Join(words, ", ")
}
