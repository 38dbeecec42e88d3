package procedure

import (
	"math"

	"govrig/sim/machine"
)

// mostTries is how many select widths are tried for one speed.
const mostTries = 4

// selectStep is the step of the select line, s: its timer counts half
// microseconds.
const selectStep = 0.5e-6

// attempt is a select width, s, and the engine speed that it gave, rpm.
type attempt struct{ width, speed float64 }

// seeking looks for the select width that gives a wanted speed, by secants.
type seeking struct {
	low, high float64 // ends of the select width, s
	slope     float64 // rpm/s, by the governor's paper
	first     float64 // width by that paper
	wanted    float64 // rpm
	near      float64 // how near is near enough, rpm
	tries     []attempt
}

// seek begins a search for the present setting.
func (g *governed) seek() seeking {
	gov := &g.m.Governor
	return seeking{
		low: math.Min(float64(gov.SelectLow), float64(gov.SelectHigh)), high: math.Max(float64(gov.SelectLow), float64(gov.SelectHigh)),
		slope: float64(gov.SpeedHigh-gov.SpeedLow) * rpm / float64(gov.SelectHigh-gov.SelectLow),
		first: selectWidth(gov, g.engine()), wanted: g.declared(), near: settingTolerance(gov, g.engine()) * g.declared(),
	}
}

// settingTolerance is how far off the wanted speed, rad/s, a setting may be, as
// a share of it: half the governor's own step of the speed setting, and 0.05 %.
func settingTolerance(gov *machine.Governor, speed float64) float64 {
	return float64(gov.SpeedStep)/2/speed + 0.0005
}

// next gives the width to try; ok is false when there is nothing to be gained
// from another.
func (s *seeking) next() (width float64, ok bool) {
	if len(s.tries) == 0 {
		return s.round(s.first), true
	}
	best := s.best()
	if len(s.tries) == mostTries || s.reached() {
		return 0, false
	}
	width = s.round(best.width + (s.wanted-best.speed)/s.secant(best))
	for _, t := range s.tries {
		if math.Abs(t.width-width) < selectStep/2 {
			return 0, false
		}
	}
	return width, true
}

// secant is the slope through the best try and the nearest on the other side
// of the wanted speed, or else the one before it, unless that is far from the
// paper's.
func (s *seeking) secant(best attempt) float64 {
	other, ok := s.across()
	if !ok && len(s.tries) > 1 {
		other = s.tries[len(s.tries)-1]
		if other == best {
			other = s.tries[len(s.tries)-2]
		}
	}
	slope := (other.speed - best.speed) / (other.width - best.width)
	if ratio := slope / s.slope; ok || ratio > 1./3 && ratio < 3 {
		return slope
	}
	return s.slope
}

func (s *seeking) round(width float64) float64 {
	return math.Round(math.Max(s.low, math.Min(s.high, width))/selectStep) * selectStep
}

func (s *seeking) off(a attempt) float64 { return math.Abs(a.speed - s.wanted) }

// best is the try that came nearest.
func (s *seeking) best() attempt {
	best := s.tries[0]
	for _, t := range s.tries {
		if s.off(t) < s.off(best) {
			best = t
		}
	}
	return best
}

// across is the nearest try on the other side of the wanted speed.
func (s *seeking) across() (other attempt, ok bool) {
	best := s.best()
	for _, t := range s.tries {
		opposite := (t.speed-s.wanted)*(best.speed-s.wanted) < 0
		if opposite && (!ok || s.off(t) < s.off(other)) {
			other, ok = t, true
		}
	}
	return other, ok
}

func (s *seeking) reached() bool { return s.off(s.best()) <= s.near }

// travel is a select width as a transmitter shows it, in %: the middle between
// the ends is 0, the ends are 100 either way (common practice, no source).
func (s *seeking) travel(width float64) float64 {
	return 200*(width-s.low)/(s.high-s.low) - 100
}
