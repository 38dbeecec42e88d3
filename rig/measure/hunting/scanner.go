package hunting

import (
	"fmt"
	"math"

	"govrig/rig/measure"
)

// Window is the length of log that a Scanner looks at at a time, s. Windows
// overlap by half. Hunting slower than eight cycles in it is not seen.
const Window = 30.0

// mostHeld bounds what a Scanner keeps, whatever the sampling.
const mostHeld = 1 << 18 // samples

// Scanner looks for hunting in a log of any length, sample by sample, holding
// no more than one window of it.
type Scanner struct {
	c      Config
	held   measure.Series
	fresh  int // held samples that no window has covered yet
	seen   []Finding
	best   float64        // amplitude of the strongest so far
	sample measure.Series // its samples
}

// NewScanner starts a scan.
func NewScanner(c Config) *Scanner { return &Scanner{c: c} }

// Add takes the next sample; times must increase.
func (s *Scanner) Add(t, y float64) {
	if n := s.held.Len(); n > 0 && (t-s.held.T[0] >= Window || n >= mostHeld) {
		s.look()
		s.drop(s.held.T[0] + (t-s.held.T[0])/2)
	}
	s.held.T, s.held.Y = append(s.held.T, t), append(s.held.Y, y)
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
	f := inspect(s.held, s.c)
	s.seen = append(s.seen, f)
	if f.Hunting() && f.Amplitude > s.best {
		s.best = f.Amplitude
		part := s.held.Between(f.From, math.Inf(1))
		s.sample.T = append(s.sample.T[:0], part.T...)
		s.sample.Y = append(s.sample.Y[:0], part.Y...)
	}
}

// drop forgets the samples before a time.
func (s *Scanner) drop(before float64) {
	kept := s.held.Between(before, math.Inf(1))
	n := copy(s.held.T, kept.T)
	copy(s.held.Y, kept.Y)
	s.held.T, s.held.Y = s.held.T[:n], s.held.Y[:n]
}

// Summary is what a scan found.
type Summary struct {
	// Finding is the strongest hunting, or else the most telling window.
	Finding
	Windows int // looked at
	Hunting int // of which hunt
}

// Summary ends the scan. A false alarm in any of many windows is kept as
// unlikely as in one: the chance allowed to each is divided by their number.
func (s *Scanner) Summary() Summary {
	s.Cut()
	out := Summary{Finding: unknown("the log is empty")}
	c := s.c
	if c.MostChance <= 0 {
		c.MostChance = defaultChance
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
	if out.Finding.Hunting() && out.Finding.From == first(s.sample) {
		out.sharpen(s.sample, out.Frequency)
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
