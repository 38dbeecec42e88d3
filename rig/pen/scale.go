package pen

import (
	"math"

	"govrig/sim/words"
)

// scale puts the values low..high of an axis on from..to, px.
type scale struct {
	low, high, from, to float64
	log                 bool
}

// at is where a value lies; all are one where the axis has no length.
func (s scale) at(v float64) float64 {
	if s.high == s.low {
		return (s.from + s.to) / 2
	}
	if s.log {
		return s.from + (s.to-s.from)*math.Log(v/s.low)/math.Log(s.high/s.low)
	}
	return s.from + (s.to-s.from)*(v-s.low)/(s.high-s.low)
}

// keep is the nearest value that the axis shows.
func (s scale) keep(v float64) float64 { return max(s.low, min(s.high, v)) }

// tick is a value that is marked on an axis, with its label or without.
type tick struct {
	value float64
	label string
}

// ticks marks the axis at multiples of step, doubled as often as they need so
// that two have room px, or where step is 0 at multiples of a nice one, with room
// px for each.
func (s scale) ticks(step, room float64) (all []tick) {
	most := math.Max(1, math.Abs(s.to-s.from)/room)
	switch {
	case s.log && s.high/s.low > 5:
		return s.decades(most)
	case s.high == s.low:
		return []tick{{s.low, words.Number(s.low)}}
	case step == 0:
		step = nice((s.high - s.low) / most)
	}
	for (s.high-s.low)/step > 2*most {
		step *= 2
	}
	for n := math.Ceil(s.low/step - 1e-9); n*step <= s.high+1e-9*step; n++ {
		all = append(all, tick{n * step, words.Stepped(n*step, step)})
	}
	return all
}

// nice is the least of 1, 2 and 5 times a power of ten that is not less than
// size: the "nice number" of Heckbert, Nice numbers for graph labels, in
// Graphics Gems, 1990, rounded up.
func nice(size float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(size)))
	for _, m := range []float64{1, 2, 5} {
		if m*power >= size*(1-1e-9) {
			return m * power
		}
	}
	return 10 * power
}

// decades marks 1 to 9 of each decade, and labels 1, 2 and 5 where there is room
// for so many, else 1 only.
func (s scale) decades(most float64) (all []tick) {
	low, high := math.Log10(s.low), math.Log10(s.high)
	dense := 3*(high-low) <= most
	for decade := math.Floor(low); decade <= high; decade++ {
		for m := 1.0; m < 10; m++ {
			v := m * math.Pow(10, decade)
			if v < s.low*(1-1e-9) || v > s.high*(1+1e-9) {
				continue
			}
			t := tick{value: v}
			if m == 1 || dense && (m == 2 || m == 5) {
				t.label = words.Stepped(v, v)
			}
			all = append(all, t)
		}
	}
	return all
}
