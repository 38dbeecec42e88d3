package hunting

import (
	"fmt"
	"math"

	"govrig/rig/measure"
)

// Window is the length of log that a Scanner looks at at a time, s. Windows
// overlap by half. Hunting slower than five cycles in it is not seen.
const Window = 50.0

// mostHeld bounds what a Scanner keeps, whatever the sampling.
const mostHeld = 1 << 18 // samples

// Scanner looks for hunting in a log of any length, sample by sample, holding
// no more than one window of it.
type Scanner struct {
	c      Config
	held   stretch
	fresh  int // held samples that no window has covered yet
	seen   []Finding
	best   float64 // amplitude of the strongest so far
	sample stretch // its samples
}

// stretch is a piece of log: speed, and throttle beside it.
type stretch struct {
	measure.Series
	throttle []float64
}

// from gives the part that begins at a time.
func (s stretch) from(t float64) stretch {
	part := s.Between(t, math.Inf(1))
	return stretch{part, s.throttle[s.Len()-part.Len():]}
}

// copyFrom makes s a copy of another, which may be a part of it.
func (s *stretch) copyFrom(other stretch) {
	s.T = append(s.T[:0], other.T...)
	s.Y = append(s.Y[:0], other.Y...)
	s.throttle = append(s.throttle[:0], other.throttle...)
}

// NewScanner starts a scan.
func NewScanner(c Config) *Scanner { return &Scanner{c: c} }

// Add takes the next sample of speed, with the throttle at that time (NaN when
// it is not known); times must increase.
func (s *Scanner) Add(t, y, throttle float64) {
	if n := s.held.Len(); n > 0 && (t-s.held.T[0] >= Window || n >= mostHeld) {
		s.look()
		s.drop(s.held.T[0] + (t-s.held.T[0])/2)
	}
	s.held.T, s.held.Y = append(s.held.T, t), append(s.held.Y, y)
	s.held.throttle = append(s.held.throttle, throttle)
	s.fresh++
}

// Cut ends a stretch: what follows a gap or an event is looked at by itself.
func (s *Scanner) Cut() {
	if s.fresh > 0 {
		s.look()
	}
	s.drop(math.Inf(1))
}

func (s *Scanner) look() {
	s.fresh = 0
	f := inspect(s.held.Series, s.c)
	s.seen = append(s.seen, f)
	if f.Hunting() && f.Amplitude > s.best {
		s.best = f.Amplitude
		s.sample.copyFrom(s.held.from(f.From))
	}
}

// drop forgets the samples before a time.
func (s *Scanner) drop(before float64) {
	s.held.copyFrom(s.held.from(before))
}

// Summary is what a scan found.
type Summary struct {
	// Finding is the strongest hunting, or else the most telling window.
	Finding
	Windows int // looked at
	Hunting int // of which hunt
	// Throttle is the throttle over the window of the finding, when the speed
	// hunts and the throttle is known.
	Throttle measure.Series
}

// Summary ends the scan. A false alarm in any of many windows is kept as
// unlikely as in one: the chance allowed to each is divided by their number.
func (s *Scanner) Summary() Summary {
	s.Cut()
	out := Summary{Finding: unknown("the log is empty")}
	c := s.c
	if c.MostChance <= 0 {
		c.MostChance = Chance
	}
	for _, f := range s.seen {
		if f.Kind == Unknown {
			if out.Windows == 0 {
				out.Finding = f
			}
			continue
		}
		out.Windows++
		if f.Hunting() && (1-f.Confidence)*float64(len(s.seen)) > c.MostChance {
			f.Kind, f.Why = Noise, fmt.Sprintf("a swing near %.3g Hz in one window of many", f.Frequency)
		}
		if f.Hunting() {
			out.Hunting++
		}
		if out.Windows == 1 || f.weight() > out.weight() {
			out.Finding = f
		}
	}
	if out.Finding.Hunting() && out.From == first(s.sample.Series) {
		out.sharpen(s.sample.Series, out.Frequency)
		if !math.IsNaN(s.sample.throttle[0]) {
			out.Throttle = measure.Series{T: s.sample.T, Y: s.sample.throttle}
		}
	}
	return out
}

// weight orders findings: hunting before all else, the stronger before the
// weaker.
func (f Finding) weight() float64 {
	order := map[Kind]float64{Quiet: 0, Small: 1, Noise: 2, Ringing: 3, Sustained: 4}[f.Kind]
	return order + f.Amplitude/(1+f.Amplitude)
}

func first(s measure.Series) float64 {
	if s.Len() == 0 {
		return math.NaN()
	}
	return s.T[0]
}
