package governed

import (
	"math"

	"govrig/rig/execution"
	"govrig/sim/machine"
)

// mostTries is how many select widths are tried for one speed.
const mostTries = 7

// SelectStep is the step of the select line, s: its timer counts half
// microseconds.
const SelectStep = 0.5e-6

// Attempt is a select width, s, and the engine speed that it gave, rpm.
type Attempt struct{ Width, Speed float64 }

// Search looks for the select width that gives a wanted speed, by secants.
type Search struct {
	Low, High float64 // ends of the select width, s
	kind      machine.SelectKind
	slope     float64 // rpm/s, by the governor's paper
	first     float64 // width by that paper
	Wanted    float64 // rpm
	Near      float64 // how near is near enough, rpm
	Tries     []Attempt
	// Rested: at the newest try the speed had come to rest.
	Rested bool
	// Swings: at the newest try it swung for good, so that there is no rest to
	// wait for.
	Swings bool
}

// NoEffect reports whether the select line has none: both ends of it gave the same
// speed.
func (s *Search) NoEffect() bool {
	low, l := s.tried(s.Low)
	high, h := s.tried(s.High)
	return l && h && s.same(low, high)
}

// Follows reports whether the speed is to follow the select pulse; else it is set in
// the governor, and other pulses bring it no nearer.
func (s *Search) Follows() bool {
	return s.kind != machine.SelectNone && s.kind != machine.SelectSteps
}

// tried is the try of a width.
func (s *Search) tried(width float64) (Attempt, bool) {
	for _, t := range s.Tries {
		if math.Abs(t.Width-width) < SelectStep/2 {
			return t, true
		}
	}
	return Attempt{}, false
}

func (s *Search) same(a, b Attempt) bool { return math.Abs(a.Speed-b.Speed) < sameSpeed*s.Wanted }

// stuck gives the end to try where two widths that the paper has apart gave the
// same speed: a setting in steps, or no effect at all, shows there.
func (s *Search) stuck() (width float64, ok bool) {
	n := len(s.Tries)
	if n < 2 || !s.same(s.Tries[n-1], s.Tries[n-2]) || s.onPaper(s.Tries[n-1], s.Tries[n-2]) < 2*sameSpeed*s.Wanted {
		return 0, false
	}
	toward, away := s.Low, s.High
	if (s.Wanted > s.Tries[n-1].Speed) == (s.slope > 0) {
		toward, away = away, toward
	}
	if _, done := s.tried(toward); !done {
		return toward, true
	}
	if t, _ := s.tried(toward); s.same(t, s.Tries[n-1]) {
		if _, done := s.tried(away); !done {
			return away, true
		}
	}
	return 0, false
}

// onPaper is how far the paper has two tries apart, rpm.
func (s *Search) onPaper(a, b Attempt) float64 {
	return math.Abs(a.Width-b.Width) * math.Abs(s.slope)
}

// Staircase is the speeds on either side of the wanted one between which the speed
// setting has no other. ok is true only where the stair was seen: two widths on the
// same side gave the same speed, though the paper has them apart by more than that
// step's share, and the next width jumps over the wanted speed.
func (s *Search) Staircase() (below, above float64, ok bool) {
	below, above = math.Inf(-1), math.Inf(1)
	for _, t := range s.Tries {
		if t.Speed <= s.Wanted {
			below = math.Max(below, t.Speed)
		} else {
			above = math.Min(above, t.Speed)
		}
	}
	if math.IsInf(below, 0) || math.IsInf(above, 0) {
		return 0, 0, false
	}
	for i, a := range s.Tries {
		for _, b := range s.Tries[:i] {
			if math.Abs(a.Speed-b.Speed) < sameSpeed/4*s.Wanted && s.onPaper(a, b) > 2*sameSpeed*s.Wanted {
				return below, above, true
			}
		}
	}
	return 0, 0, false
}

// sameSpeed is how near two speeds of one step lie, a share.
const sameSpeed = 0.002

// Search begins a search for the present setting.
func (g *Governor) Search() Search {
	gov := &g.Machine.Governor
	first, _ := g.Machine.SettingPulse(g.Setting)
	return Search{
		kind: gov.Select,
		Low:  math.Min(float64(gov.SelectLow), float64(gov.SelectHigh)), High: math.Max(float64(gov.SelectLow), float64(gov.SelectHigh)),
		slope: float64(gov.SpeedHigh-gov.SpeedLow) * execution.RPM / float64(gov.SelectHigh-gov.SelectLow),
		first: first, Wanted: g.Declared(), Near: SettingTolerance(gov, g.Engine()) * g.Declared(),
	}
}

// SettingTolerance is how far off the wanted speed, rad/s, a setting may be, as
// a share of it: half the governor's own step of the speed setting, and 0.05 %.
func SettingTolerance(gov *machine.Governor, speed float64) float64 {
	return float64(gov.SpeedStep)/2/speed + 0.0005
}

// Next gives the width to try; ok is false when there is nothing to be gained
// from another.
func (s *Search) Next() (width float64, ok bool) {
	switch {
	case len(s.Tries) == 0 && s.Follows():
		return s.round(s.first), true
	case len(s.Tries) == 0:
		return s.first, true
	case !s.Follows():
		return 0, false
	}
	best := s.Best()
	if len(s.Tries) == mostTries || s.reached() || s.Swings {
		return 0, false
	}
	if width, ok = s.stuck(); ok {
		return s.round(width), true
	}
	width = s.round(best.Width + (s.Wanted-best.Speed)/s.secant(best))
	for _, t := range s.Tries {
		if math.Abs(t.Width-width) < SelectStep/2 {
			return 0, false
		}
	}
	return width, true
}

// secant is the slope through the best try and the nearest on the other side
// of the wanted speed, or else the one before it, unless that is far from the
// paper's.
func (s *Search) secant(best Attempt) float64 {
	other, ok := s.Across()
	if !ok && len(s.Tries) > 1 {
		other = s.Tries[len(s.Tries)-1]
		if other == best {
			other = s.Tries[len(s.Tries)-2]
		}
	}
	slope := (other.Speed - best.Speed) / (other.Width - best.Width)
	if ratio := slope / s.slope; ok || ratio > 1./3 && ratio < 3 {
		return slope
	}
	return s.slope
}

func (s *Search) round(width float64) float64 {
	return math.Round(math.Max(s.Low, math.Min(s.High, width))/SelectStep) * SelectStep
}

func (s *Search) off(a Attempt) float64 { return math.Abs(a.Speed - s.Wanted) }

// Best is the try that came nearest.
func (s *Search) Best() Attempt {
	best := s.Tries[0]
	for _, t := range s.Tries {
		if s.off(t) < s.off(best) {
			best = t
		}
	}
	return best
}

// Across is the nearest try on the other side of the wanted speed.
func (s *Search) Across() (other Attempt, ok bool) {
	best := s.Best()
	for _, t := range s.Tries {
		opposite := (t.Speed-s.Wanted)*(best.Speed-s.Wanted) < 0
		if opposite && (!ok || s.off(t) < s.off(other)) {
			other, ok = t, true
		}
	}
	return other, ok
}

func (s *Search) reached() bool { return s.off(s.Best()) <= s.Near }

// Travel is a select width as a transmitter shows it, in %: the middle between
// the ends is 0, the ends are 100 either way (common practice, no source).
func (s *Search) Travel(width float64) float64 {
	return 200*(width-s.Low)/(s.High-s.Low) - 100
}
