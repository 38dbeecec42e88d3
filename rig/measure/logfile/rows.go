package logfile

import (
	"fmt"
	"math"

	"govrig/sim/words"
)

// rows puts the columns together.
func rows(times []float64, speed, throttle, load []float64) []Row {
	out := make([]Row, len(times))
	for i := range times {
		out[i] = Row{times[i], speed[i], throttle[i], load[i]}
	}
	return out
}

// column gives a column's values times a factor; NaN for one that is not there.
func (t *tab) column(at int, times float64) []float64 {
	out := make([]float64, len(t.lines))
	for i := range out {
		if out[i] = math.NaN(); at >= 0 {
			out[i] = t.values[at][i] * times
		}
	}
	return out
}

// present leaves out rows without a speed. A row without a time is
// refused, but for one in a hundred.
func (t *tab) present(all []Row) (kept []Row, notes []string, err error) {
	empty, timeless, lines := 0, 0, t.lines
	t.lines = nil
	for i, r := range all {
		if err := r.sensible(); err != nil {
			return nil, nil, fmt.Errorf("line %d: %w", lines[i], err)
		}
		switch {
		case math.IsNaN(r.Time):
			if timeless++; timeless*100 > len(all) {
				return nil, nil, fmt.Errorf("line %d: the time is missing", lines[i])
			}
		case math.IsNaN(r.Speed):
			empty++
		default:
			kept, t.lines = append(kept, r), append(t.lines, lines[i])
		}
	}
	if timeless > 0 {
		notes = append(notes, words.Count(timeless, "row")+" without a time left out")
	}
	if empty > 0 {
		notes = append(notes, words.Count(empty, "row")+" without a speed left out")
	}
	return kept, notes, nil
}

// sensible refuses what cannot stand in a log: then something else stands in the
// column. A time may be counted in milliseconds since long ago, a speed beyond all that turns in a
// model (common practice, no source).
func (r Row) sensible() error {
	for _, v := range []struct {
		what        string
		value, most float64
		unit        string
	}{{"time", r.Time, 1e12, "s"}, {"speed", r.Speed, 1e6, "rpm"}, {"throttle", r.Throttle, 1e6, ""}, {"load", r.Load, 1e9, ""}} {
		if math.Abs(v.value) > v.most { // NaN is an empty field
			return fmt.Errorf("%s: %g makes no sense there: beyond %g %s", v.what, v.value, v.most, v.unit)
		}
	}
	return nil
}

// mostParts is how often the time may begin anew.
const mostParts = 50

// longest cuts rows where the time goes back, for there the logger was started
// anew, and gives the longest part.
func longest(all []Row, lines []int) (part []Row, notes []string, err error) {
	var parts [][]Row
	from := 0
	for i := 1; i <= len(all); i++ {
		if i == len(all) || all[i].Time < all[i-1].Time {
			parts = append(parts, all[from:i])
			from = i
		}
	}
	if len(parts) > mostParts || len(parts) > 1 && len(all) < 8*len(parts) {
		n := len(parts[0])
		return nil, nil, fmt.Errorf("line %d: time goes back from %g s to %g s; times that it does: %d; is that the time?",
			lines[n], all[n-1].Time, all[n].Time, len(parts)-1)
	}
	best := 0
	for i, p := range parts {
		if p[len(p)-1].Time-p[0].Time > parts[best][len(parts[best])-1].Time-parts[best][0].Time {
			best = i
		}
	}
	if len(parts) > 1 {
		notes = append(notes, fmt.Sprintf("the time begins anew, as when a logger is started again: of %d parts the longest is measured, part %d, %.4g s",
			len(parts), best+1, parts[best][len(parts[best])-1].Time-parts[best][0].Time))
	}
	return parts[best], notes, nil
}

// apart gives every row a time of its own. Where the clock is coarse, so that half
// of all rows or more repeat a time, they are spread evenly until the next one;
// else rows of one time are put together as their mean.
func apart(all []Row) (out []Row, notes []string) {
	repeated := 0
	for i := 1; i < len(all); i++ {
		if all[i].Time == all[i-1].Time {
			repeated++
		}
	}
	switch {
	case repeated == 0:
		return all, nil
	case len(all) > 8 && 2*repeated >= len(all):
		return spread(all), []string{"the clock of the log is coarse: rows of one time were spread evenly until the next"}
	}
	return together(all), []string{fmt.Sprintf("rows that repeat the time of the row before: %d; rows of one time were put together as their mean", repeated)}
}

// spread sets rows of one time evenly between it and the next. Those of the first
// and last time keep the pace of their neighbours.
func spread(all []Row) []Row {
	var groups [][2]int
	from := 0
	for i := 1; i <= len(all); i++ {
		if i == len(all) || all[i].Time != all[from].Time {
			groups = append(groups, [2]int{from, i})
			from = i
		}
	}
	if len(groups) < 3 {
		return together(all)
	}
	out := make([]Row, len(all))
	copy(out, all)
	for k, g := range groups {
		start, n := all[g[0]].Time, float64(g[1]-g[0])
		step := 0.0
		switch {
		case k == 0: // its first rows are missing: it ends where the next begins
			next := groups[1]
			step = (all[groups[2][0]].Time - all[next[0]].Time) / float64(next[1]-next[0])
			start = all[next[0]].Time - n*step
		case k == len(groups)-1:
			before := groups[k-1]
			step = (start - all[before[0]].Time) / float64(before[1]-before[0])
		default:
			step = (all[groups[k+1][0]].Time - start) / n
		}
		for i := g[0]; i < g[1]; i++ {
			out[i].Time = start + float64(i-g[0])*step
		}
	}
	return out
}

// together puts rows of one time into one, their mean.
func together(all []Row) (out []Row) {
	n := 0.0
	for _, r := range all {
		last := len(out) - 1
		if last < 0 || out[last].Time != r.Time {
			out, n = append(out, r), 1
			continue
		}
		n++
		mix := func(mean *float64, x float64) { *mean += (x - *mean) / n }
		mix(&out[last].Speed, r.Speed)
		mix(&out[last].Throttle, r.Throttle)
		mix(&out[last].Load, r.Load)
	}
	return out
}

const (
	longestDrop = 3    // samples that a lost pulse may spoil
	dropTime    = 0.5  // s in which no rotor leaves its speed by dropShare and is back
	dropShare   = 0.3  // of the speed around
	backShare   = 0.05 // by which the speeds on both sides may differ
)

// clean leaves out single readings that no rotor can follow: off by a third of the
// speed for a sample or three, with the same speed on both sides.
func clean(all []Row) (kept []Row, notes []string) {
	left, fastest := 0, 0.0
	for _, r := range all {
		fastest = math.Max(fastest, r.Speed)
	}
	for i := 0; i < len(all); i++ {
		if n := spoilt(all, i); n > 0 && all[i-1].Speed > dropShare*fastest {
			left += n
			i += n - 1
			continue
		}
		kept = append(kept, all[i])
	}
	if left > 0 {
		notes = append(notes, words.Count(left, "reading")+" left out that no rotor can follow: off by a third for a moment")
	}
	return kept, notes
}

// spoilt is how many samples from i on are off.
func spoilt(all []Row, i int) int {
	if i == 0 {
		return 0
	}
	before := all[i-1]
	if math.Abs(all[i].Speed-before.Speed) <= dropShare*before.Speed || before.Speed <= 0 {
		return 0
	}
	for n := 1; n <= longestDrop && i+n < len(all); n++ {
		after := all[i+n]
		if math.Abs(after.Speed-before.Speed) <= backShare*before.Speed && after.Time-before.Time < dropTime {
			return n
		}
	}
	return 0
}
