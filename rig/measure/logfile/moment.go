package logfile

import (
	"fmt"
	"math"
	"slices"
)

// theTime finds the column of time and turns it into s.
func (t *tab) theTime(c Columns) (taken, []float64, error) {
	at, unit, err := c.place(TimeName, t.titles)
	if err != nil {
		return taken{}, nil, err
	}
	if at < 0 {
		if at = t.bestTime(); at < 0 {
			return taken{}, nil, fmt.Errorf("no column is known for the time; there are: %s; say --column %s=NAME", list(t.titles), TimeName)
		}
	}
	if unit != nil {
		t.titles[at].unit = unit
	}
	if t.kinds[at] != plainNumbers {
		return t.clockTime(at)
	}
	return t.countedTime(at)
}

// bestTime is the column most like a time: by name or by being a clock, and of
// several the one that tells most moments apart; without one, the first column
// that only rises.
func (t *tab) bestTime() int {
	best, most := -1, 0
	for i := range t.titles {
		h := &t.titles[i]
		likely := t.kinds[i] == clocks || h.in(moment) || h.unit == nil && h.has(timeWords)
		if !likely || h.has(throttleWords) || t.kinds[i] == days {
			continue
		}
		if n := distinct(t.values[i]); n > most {
			best, most = i, n
		}
	}
	for i := 0; best < 0 && i < len(t.titles); i++ {
		if t.titles[i].unit == nil && rises(t.values[i]) {
			best = i
		}
	}
	return best
}

func distinct(values []float64) int {
	seen := map[float64]bool{}
	for _, v := range values {
		seen[v] = true
	}
	return len(seen)
}

// rises reports whether values only rise, but for a hundredth of them.
func rises(values []float64) bool {
	back := 0
	for i := 1; i < len(values); i++ {
		if !(values[i] > values[i-1]) {
			back++
		}
	}
	return len(values) > 2 && back*100 <= len(values)
}

// clockTime counts from the first row.
func (t *tab) clockTime(at int) (taken, []float64, error) {
	times := slices.Clone(t.values[at])
	if t.kinds[at] == clocks && !t.dated {
		overMidnight(times)
	}
	zero := math.NaN()
	for i := range times {
		if math.IsNaN(zero) {
			zero = times[i]
		}
		times[i] -= zero
	}
	return taken{at: at, unit: units["s"], said: fmt.Sprintf("a clock; 0 s is its %s", t.first[at])}, times, nil
}

// countedTime turns numbers into s. Without a unit, that in which the samples
// come at a usual pace.
func (t *tab) countedTime(at int) (taken, []float64, error) {
	h, values := &t.titles[at], t.values[at]
	r := taken{at: at, unit: units["s"]}
	switch pace := pace(values); {
	case h.in(moment):
		r.unit = *h.unit
	case h.has("millis ms"), pace >= 3 && pace < 3000:
		r.unit, r.said = units["ms"], fmt.Sprintf("no unit is named; its rows are %.4g apart", pace)
	case pace >= 3000:
		r.unit, r.said = units["µs"], fmt.Sprintf("no unit is named; its rows are %.4g apart", pace)
	}
	times := make([]float64, len(values))
	zero := 0.0
	if len(values) > 0 && values[0]*r.unit.times > 1e8 { // counted since some year
		zero = values[0]
		r.said = "counted since long ago; 0 s is its first row"
	}
	for i, v := range values {
		times[i] = (v - zero) * r.unit.times
		if r.unit.times == 1e-3 || r.unit.times == 1e-6 {
			times[i] = (v - zero) / math.Round(1/r.unit.times)
		}
	}
	return r, times, nil
}

// pace is the median step of a column that is not zero.
func pace(values []float64) float64 {
	var steps []float64
	for i := 1; i < len(values); i++ {
		if d := values[i] - values[i-1]; d > 0 {
			steps = append(steps, d)
		}
	}
	if len(steps) == 0 {
		return 0
	}
	slices.Sort(steps)
	return steps[len(steps)/2]
}
