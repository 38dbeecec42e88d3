package train

import "math"

// Match is how a train that came back compares with the one that was wanted.
type Match struct {
	// Missing are wanted pulses that did not come, Stray those that came
	// unwanted between the first and the last wanted.
	Missing, Stray int
	// Delay is how much later than wanted pulses came, Width how much wider
	// they were, s.
	Delay, Width Spread
}

// Spread sums up some values.
type Spread struct {
	N                     int
	Mean, Least, Greatest float64
}

func (s *Spread) add(v float64) {
	if s.N++; s.N == 1 {
		*s = Spread{1, v, v, v}
		return
	}
	s.Mean += (v - s.Mean) / float64(s.N)
	s.Least, s.Greatest = math.Min(s.Least, v), math.Max(s.Greatest, v)
}

// Range is the greatest value less the least.
func (s Spread) Range() float64 { return s.Greatest - s.Least }

// Worst is the value farthest from zero.
func (s Spread) Worst() float64 {
	if -s.Least > s.Greatest {
		return s.Least
	}
	return s.Greatest
}

// Compare finds for each wanted pulse the one that came for it: whose leading
// edge and width are both within so many seconds of it. Both trains are in
// order.
func Compare(wanted, got []Pulse, within float64) Match {
	m := Match{Missing: len(wanted)}
	if len(wanted) == 0 {
		return m
	}
	k := 0
	for k < len(got) && got[k].Start < wanted[0].Start-within {
		k++
	}
	for _, w := range wanted {
		for k < len(got) && got[k].Start < w.Start-within {
			m.Stray, k = m.Stray+1, k+1
		}
		if k == len(got) || got[k].Start > w.Start+within || math.Abs(got[k].Width-w.Width) > within {
			continue
		}
		m.Missing--
		m.Delay.add(got[k].Start - w.Start)
		m.Width.add(got[k].Width - w.Width)
		k++
	}
	return m
}

// Even is a train of n pulses of the given width, s, from start on, a period
// apart.
func Even(start, period, width float64, n int) []Pulse {
	pulses := make([]Pulse, n)
	for i := range pulses {
		pulses[i] = Pulse{start + float64(i)*period, width}
	}
	return pulses
}
