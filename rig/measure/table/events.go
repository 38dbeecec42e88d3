package table

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"govrig/rig/measure/logfile"
)

const (
	stretchBefore = 2.0  // s of rest in which the speed before an event is read
	leastRest     = 0.8  // s of it there must be
	leastSamples  = 5    // in it
	clear         = 5.0  // times the scatter before: noise passes it once in a million samples, if Gaussian
	leastEvent    = 0.6  // % of the speed; less is no event to anybody in flight
	flying        = 0.75 // of the level: below it the governor is not holding
	longestEvent  = 15.0 // s that are looked at after one
	letDown       = 0.2  // of the speed: what is so far below it a third of that later, or at the end, is not coming back
)

// happening is a moment at which a speed that had rested is driven off.
type happening struct {
	at, end float64 // s; the end is where the next one begins
	depth   float64 // %, with its sign
}

// happenings finds the events of a log that has no column to tell them: where
// a speed that had rested departs from its mean by several times its scatter. A
// rotor that is run up or let down is no event.
func happenings(rows []logfile.Row) (found []happening) {
	level := flownAt(rows)
	sums := running(rows)
	for i := 0; i < len(rows); i++ {
		mean, scatter, ok := sums.rest(rows, i)
		if !ok || mean < flying*level {
			continue
		}
		edge := math.Max(clear*scatter, leastEvent/100*mean)
		if math.Abs(rows[i].Speed-mean) < edge || !lasts(rows, i, mean, edge/2) {
			continue
		}
		h, next := follow(rows, i, mean, level)
		if next < 0 { // let down, or the log ends at once
			break
		}
		found = append(found, h)
		i = next - 1
	}
	for k := range found {
		if k+1 < len(found) {
			found[k].end = math.Min(found[k].end, found[k+1].at-leastRest/4)
		}
	}
	return found
}

// flownAt is the speed that is held for most of the time: the median of what
// lies above 0.6 of the greatest.
func flownAt(rows []logfile.Row) float64 {
	var all []float64
	for _, r := range rows {
		all = append(all, r.Speed)
	}
	slices.Sort(all)
	if len(all) == 0 {
		return 0
	}
	from, _ := slices.BinarySearch(all, 0.6*all[len(all)*99/100])
	return all[min(len(all)-1, from+(len(all)-from)/2)]
}

// sums are the running sums of a log, about its first speed.
type sums struct{ one, two []float64 }

func running(rows []logfile.Row) sums {
	s := sums{make([]float64, len(rows)+1), make([]float64, len(rows)+1)}
	for i, r := range rows {
		d := r.Speed - rows[0].Speed
		s.one[i+1], s.two[i+1] = s.one[i]+d, s.two[i]+d*d
	}
	return s
}

// rest gives mean and scatter of the stretch before row i, if the speed had rested
// there: its scatter is below a hundredth and a half.
func (s sums) rest(rows []logfile.Row, i int) (mean, scatter float64, ok bool) {
	from, _ := slices.BinarySearchFunc(rows, rows[i].Time-stretchBefore, func(r logfile.Row, t float64) int {
		if r.Time < t {
			return -1
		}
		return 1
	})
	n := float64(i - from)
	if i-from < leastSamples || rows[i].Time-rows[from].Time < leastRest {
		return 0, 0, false
	}
	if rows[i].Time-rows[i-1].Time > leastRest { // a gap
		return 0, 0, false
	}
	d := (s.one[i] - s.one[from]) / n
	mean = rows[0].Speed + d
	scatter = math.Sqrt(math.Max(0, (s.two[i]-s.two[from])/n-d*d))
	return mean, scatter, scatter < 0.015*mean
}

// lasts reports whether the next samples stay off on the same side.
func lasts(rows []logfile.Row, i int, mean, edge float64) bool {
	sign := math.Copysign(1, rows[i].Speed-mean)
	for k := i + 1; k < min(len(rows), i+3); k++ {
		if sign*(rows[k].Speed-mean) < edge {
			return false
		}
	}
	return i+3 <= len(rows)
}

// follow goes from the row at which an event was seen to its extreme and on to the
// row from which the next one may come: once the speed has rested again. next is
// −1 where the rotor is let down.
func follow(rows []logfile.Row, seen int, mean, level float64) (h happening, next int) {
	sign := math.Copysign(1, rows[seen].Speed-mean)
	extreme, deepest := seen, 0.0
	next = len(rows)
	for k := seen; k < len(rows); k++ {
		if rows[k].Speed < 0.5*level {
			return h, -1
		}
		off := sign * (rows[k].Speed - mean)
		if off > deepest {
			extreme, deepest = k, off
		}
		late := rows[k].Time > rows[seen].Time+longestEvent/3 || k == len(rows)-1
		if late && sign < 0 && off > letDown*mean {
			return h, -1
		}
		after := rows[min(k+1, len(rows)-1)].Speed // a reading alone is no return
		if off < deepest/4 && sign*(after-mean) < deepest/4 || late {
			next = k + 1
			break
		}
	}
	h.at = onset(rows, seen, extreme, mean)
	h.end = h.at + longestEvent
	h.depth = 100 * (rows[extreme].Speed - mean) / mean
	return h, next
}

// onset is when the speed began to leave: where the line through a fifth and three
// fifths of the departure meets the speed before.
func onset(rows []logfile.Row, seen, extreme int, mean float64) float64 {
	depth := math.Abs(rows[extreme].Speed - mean)
	cross := func(share float64) float64 {
		for k := extreme; k > 0; k-- {
			a, b := math.Abs(rows[k-1].Speed-mean), math.Abs(rows[k].Speed-mean)
			if a <= share*depth && k <= extreme {
				return rows[k-1].Time + (share*depth-a)/math.Max(b-a, 1e-9)*(rows[k].Time-rows[k-1].Time)
			}
		}
		return rows[seen].Time
	}
	low, high := cross(0.2), cross(0.6)
	return low - (high-low)/2
}

// choose takes the deepest event, and says which others there are.
func choose(found []happening) (h *happening, note string) {
	if len(found) == 0 {
		return nil, ""
	}
	best := 0
	var all []string
	for i, f := range found {
		if math.Abs(f.depth) > math.Abs(found[best].depth) {
			best = i
		}
		if i < 8 {
			all = append(all, fmt.Sprintf("%.2f s (%+.1f %%)", f.at, f.depth))
		}
	}
	if more := len(found) - len(all); more > 0 {
		all = append(all, fmt.Sprintf("and %d more", more))
	}
	note = fmt.Sprintf("no load column tells when the load changed; the speed is driven off at %s", strings.Join(all, ", "))
	if len(found) > 1 {
		note += fmt.Sprintf("; the deepest is measured, at %.2f s; --event names another", found[best].at)
	}
	return &found[best], note
}
