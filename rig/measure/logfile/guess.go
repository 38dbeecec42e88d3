package logfile

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// taken is a column taken for a quantity.
type taken struct {
	at    int
	unit  factor
	shaft Shaft
	said  string // why, for the person
}

// reading is one way to read a column as a speed, and how much speaks for it.
type reading struct {
	taken
	score float64
}

// theSpeed finds the column of speed and says how to read it.
func (t *tab) theSpeed(c Columns, m *Machine) (taken, error) {
	at, unit, err := c.place(SpeedName, t.titles)
	if err != nil {
		return taken{}, err
	}
	var all []reading
	for i := range t.titles {
		if i == t.timeAt || at >= 0 && i != at {
			continue
		}
		if i == at && unit != nil {
			t.titles[i].unit = unit
		}
		all = append(all, t.readings(i, m, i == at)...)
	}
	slices.SortStableFunc(all, func(a, b reading) int {
		switch {
		case a.score > b.score:
			return -1
		case a.score < b.score:
			return 1
		}
		return 0
	})
	return t.choose(all, at >= 0)
}

const (
	// fewestValues has a column that is a speed and not called one.
	fewestValues = 8
	// usual speaks for rpm where no unit is named: most logs are in it.
	usual = 1.5
)

// leastScore is what has to speak for a column that nobody named.
const leastScore = 2

// choose takes the best reading, or says why it cannot be told.
func (t *tab) choose(all []reading, named bool) (taken, error) {
	if len(all) == 0 || all[0].score < leastScore && !named {
		if err := t.unread(); err != nil {
			return taken{}, err
		}
		return taken{}, fmt.Errorf("no column is known for the speed; there are: %s; say --column %s=NAME, with its unit behind it in brackets, such as %s=\"%s [Hz]\"",
			list(t.titles), SpeedName, SpeedName, t.titles[len(t.titles)-1].whole)
	}
	best := all[0]
	for _, r := range all[1:] {
		if r.score < best.score-1 || r.score < leastScore && !named {
			break
		}
		if r.at == best.at && (r.unit.times != best.unit.times || r.shaft != best.shaft) {
			return taken{}, fmt.Errorf("the column %q can be the %s; say --column %s=\"%s [%s]\" or [%s]",
				t.titles[r.at].whole, best.words()+" or the "+r.words(), SpeedName, t.titles[r.at].whole, best.unit.name, r.unit.name)
		}
		if r.at != best.at && r.score == best.score && r.shaft == best.shaft {
			if t.titles[best.at].whole == t.titles[r.at].whole {
				return taken{}, fmt.Errorf("two columns are called %q; give one another name", t.titles[r.at].whole)
			}
			return taken{}, fmt.Errorf("the columns %q and %q can both be the speed; say --column %s=NAME",
				t.titles[best.at].whole, t.titles[r.at].whole, SpeedName)
		}
	}
	return best.taken, nil
}

// unread is what is wrong with a column that is called a speed and holds none.
func (t *tab) unread() error {
	for i := range t.titles {
		if t.titles[i].in(speed) || t.titles[i].has(speedWords) {
			if _, err := t.sound(i); err != nil {
				return err
			}
		}
	}
	return nil
}

func (r *reading) words() string {
	return strings.TrimSpace(string(r.shaft)+" speed in ") + " " + r.unit.name
}

// readings are the ways to read a column as a speed.
func (t *tab) readings(i int, m *Machine, named bool) (all []reading) {
	h := &t.titles[i]
	if !named && (h.unit != nil && h.unit.of != speed || h.has(otherWords) || h.has(throttleWords) || h.has(loadWords) && !h.in(speed)) {
		return nil
	}
	level := t.level(i)
	if math.IsNaN(level) || !named && level <= 0 {
		return nil
	}
	if !named && !h.in(speed) && !h.has(speedWords) && distinct(t.values[i]) < fewestValues {
		return nil // of these few values a speed is none
	}
	score := 0.0
	if h.in(speed) {
		score += 3
	}
	if h.has(speedWords) {
		score += 2
	}
	shaft := Unknown
	switch {
	case h.has(headWords):
		shaft, score = Head, score+2
	case h.has(engineWords):
		shaft, score = Engine, score+2.5
	}
	for _, u := range speedUnits(h, m, level) {
		all = append(all, weigh(taken{at: i, unit: u, shaft: shaft}, score, level, m)...)
	}
	return all
}

// speedUnits are the units that a column may be in: that of its heading, or all.
func speedUnits(h *titled, m *Machine, level float64) []factor {
	if h.in(speed) {
		return []factor{*h.unit}
	}
	if m == nil {
		if level < 50 {
			return []factor{units["krpm"]}
		}
		return []factor{units["rpm"]}
	}
	return []factor{units["rpm"], units["krpm"], units["hz"], units["rad/s"]}
}

// weigh holds a reading against the speeds of the machine file: near a wanted
// speed speaks for it, far from all against it.
func weigh(r taken, score, level float64, m *Machine) (all []reading) {
	rpm := level * r.unit.times
	if m == nil {
		if rpm < 300 || rpm > 60000 {
			score -= 3
		}
		return []reading{{r, score}}
	}
	for _, shaft := range []Shaft{Engine, Head} {
		times := 1.0
		if shaft == Engine {
			times = m.Ratio
		}
		way := r
		way.shaft = shaft
		fit := nearness(rpm, times, m.Heads)
		if r.unit.name == "rpm" && fit > 0 {
			fit += usual
		}
		if r.shaft != Unknown && r.shaft != shaft {
			if fit -= 3; fit > 0 {
				way.said = fmt.Sprintf("its name says %s, its values are those of the %s", r.shaft, shaft)
			}
		}
		all = append(all, reading{way, score + fit})
		if way.unit.name == "Hz" && shaft == Engine && m.Pulses > 1 {
			way.unit = factor{speed, "pulses/s", 60 / float64(m.Pulses)}
			all = append(all, reading{way, score + nearness(level*way.unit.times, times, m.Heads)})
		}
	}
	return all
}

// nearness is what the distance of a speed from the nearest wanted one says.
func nearness(rpm, times float64, heads []float64) float64 {
	least := math.Inf(1)
	for _, h := range heads {
		least = math.Min(least, math.Abs(rpm/(h*times)-1))
	}
	switch {
	case least < 0.04:
		return 4
	case least < 0.12:
		return 2.5
	case least < 0.3:
		return 0
	}
	return -4
}

// level is the speed at which a column mostly is while it is high: the median of
// what lies above 0.6 of its greatest, but for the highest hundredth.
func (t *tab) level(i int) float64 {
	var all []float64
	for _, v := range t.values[i] {
		if !math.IsNaN(v) {
			all = append(all, v)
		}
	}
	if len(all) == 0 {
		return math.NaN()
	}
	slices.Sort(all)
	high := all[min(len(all)-1, len(all)*99/100)]
	from, _ := slices.BinarySearch(all, 0.6*high)
	if from >= len(all) {
		return high
	}
	return all[from+(len(all)-from)/2]
}
